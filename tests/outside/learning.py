"""Reads effects and observations and prints what a Gaussian process with a linear kernel believes of each effect.

Input: JSON with "variances", "observations" (each "effects" as pairs of number and times, "value" and "variance").
Output: the log marginal likelihood, then mean and standard deviation of each effect, one a line.
"""

import json
import sys

import numpy
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import DotProduct

with open(sys.argv[1], encoding="utf-8") as file:
    data = json.load(file)
scales = numpy.sqrt(data["variances"])
design = numpy.zeros((len(data["observations"]), len(scales)))
for row, seen in enumerate(data["observations"]):
    for effect, times in seen["effects"]:
        design[row, effect] += times
noise = numpy.array([seen["variance"] for seen in data["observations"]])
values = numpy.array([seen["value"] for seen in data["observations"]])
process = GaussianProcessRegressor(
    DotProduct(sigma_0=0.0, sigma_0_bounds="fixed"), alpha=noise, optimizer=None
)
process.fit(design * scales, values)
print(process.log_marginal_likelihood_value_)
means, deviations = process.predict(numpy.diag(scales), return_std=True)
for mean, deviation in zip(means, deviations):
    print(mean, deviation)
