"""Solves a free MPS file with CBC: cbc.py FILE relaxed|whole; prints the status and the optimum.

PuLP brings CBC along. Its own reader of MPS leaves ranges out and it calls a solution optimal even when
time ran out, so CBC reads the file and its own words are passed on.
"""

import subprocess
import sys

import pulp

path, form = sys.argv[1:]
cbc = pulp.PULP_CBC_CMD().path
command = [cbc, path, "-sec", "300", "-ratio", "0", "-allow", "1e-9", "-increment", "1e-9"]
command += ["-initialSolve" if form == "relaxed" else "-solve", "-solution", path + ".txt"]
ran = subprocess.run(command, capture_output=True, text=True, check=True)
if " read with 0 errors" not in ran.stdout:
    sys.exit("CBC cannot read the model: " + ran.stdout)
with open(path + ".txt", encoding="ascii") as solution:
    status, _, value = solution.readline().partition(" - objective value ")
print(status)
print(value.strip())
