"""Solves a free MPS file with HiGHS: highs.py FILE relaxed|whole; prints the status and the optimum."""

import sys

import highspy

path, form = sys.argv[1:]
highs = highspy.Highs()
for option, value in {
    "output_flag": False,
    "solve_relaxation": form == "relaxed",
    "mip_rel_gap": 1e-9,
    "mip_abs_gap": 1e-9,
    "time_limit": 60.0,
}.items():
    if highs.setOptionValue(option, value) != highspy.HighsStatus.kOk:
        sys.exit(f"HiGHS knows no option {option}")
if highs.readModel(path) != highspy.HighsStatus.kOk:
    sys.exit("HiGHS cannot read the model")
highs.run()
print(highs.modelStatusToString(highs.getModelStatus()))
print(repr(highs.getInfo().objective_function_value))
