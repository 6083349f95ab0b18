"""Solves a model in free MPS: solve.py highs|cbc relaxed|whole FILE -> the optimum as a number."""

import re
import subprocess
import sys


def highs(path, relaxed):
    import highspy

    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("time_limit", 120.0)
    solver.setOptionValue("solve_relaxation", relaxed)
    if solver.readModel(path) == highspy.HighsStatus.kError:
        sys.exit("HiGHS cannot read the model")
    solver.run()
    status = solver.getModelStatus()
    if status != highspy.HighsModelStatus.kOptimal:
        sys.exit(f"HiGHS proves no optimum: {solver.modelStatusToString(status)}")
    return solver.getInfo().objective_function_value


def cbc(path, relaxed):
    import pulp

    program = pulp.PULP_CBC_CMD().path
    # Of a relaxed model CLP, the linear solver inside CBC, tells the optimum.
    commands = ["initialSolve"] if relaxed else ["ratioGap", "0", "solve"]
    ran = subprocess.run(
        [program, path, "seconds", "120", *commands, "quit"], capture_output=True, text=True
    )
    found = (
        r"Optimal (?:- )?objective (?:value )?([-+.\deE]+)"
        if relaxed
        else r"Result - Optimal solution found.*?Objective value:\s+([-+.\deE]+)"
    )
    numbers = re.findall(found, ran.stdout, re.DOTALL)
    if ran.returncode != 0 or not numbers:
        sys.exit(f"CBC proves no optimum:\n{ran.stdout}{ran.stderr}")
    return float(numbers[-1])


if __name__ == "__main__":
    which, how, path = sys.argv[1:]
    print(repr({"highs": highs, "cbc": cbc}[which](path, how == "relaxed")))
