"""Lets HiGHS work on a planning model and prints what it finds, one line each.

    better SECONDS POINTS      a better plan was found
    end SECONDS POINTS BOUND   the best plan and the bound at the end; "none" for a plan that was not found
"""

import sys
import time

import highspy

model, limit, seed, threads = sys.argv[1:]
highs = highspy.Highs()
for option, value in {
    "output_flag": False,
    "time_limit": float(limit),
    "random_seed": int(seed),
    "threads": int(threads),
    "mip_rel_gap": 0.0,
}.items():
    if highs.setOptionValue(option, value) != highspy.HighsStatus.kOk:
        sys.exit(f"HiGHS does not take {option} = {value}")
if highs.readModel(model) != highspy.HighsStatus.kOk:
    sys.exit("HiGHS cannot read the model")

start = time.monotonic()


def seconds():
    return f"{time.monotonic() - start:.2f}"


def better(event):
    print("better", seconds(), event.data_out.objective_function_value, flush=True)


highs.cbMipImprovingSolution += better
highs.run()
info = highs.getInfo()
found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
points = info.objective_function_value if found else "none"
print("end", seconds(), points, info.mip_dual_bound, flush=True)
