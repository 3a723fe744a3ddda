"""Answers the questions of second_opinion.rs with SciPy and NumPy: JSON on standard input, JSON on standard output."""

import json
import sys

import numpy
from scipy import stats

questions = json.load(sys.stdin)


def t_half_width(samples, level):
    """Half the width of the t interval of each sample, by scipy.stats.t.interval."""
    values = [numpy.asarray(sample) for sample in samples]
    mean = numpy.array([v.mean() for v in values])
    error = numpy.array([v.std(ddof=1) / numpy.sqrt(v.size) for v in values])
    freedom = numpy.array([v.size - 1 for v in values])
    low, high = stats.t.interval(numpy.asarray(level), freedom, loc=mean, scale=error)
    return ((high - low) / 2).tolist()


def t_quantiles(level, freedom):
    """Two-sided critical values of Student's t."""
    return stats.t.ppf((1 + numpy.asarray(level)) / 2, numpy.asarray(freedom)).tolist()


def wilson(found, trials, level):
    """Wilson score intervals, as the two roots of the quadratic that defines them; z from scipy.stats.norm."""
    k, n = numpy.asarray(found, dtype=float), numpy.asarray(trials, dtype=float)
    square = stats.norm.ppf((1 + numpy.asarray(level)) / 2) ** 2
    # (p - k/n)^2 = z^2 p (1 - p) / n, solved for p.
    a, b, c = n + square, -(2 * k + square), k**2 / n
    root = numpy.sqrt(numpy.maximum(b**2 - 4 * a * c, 0))
    return numpy.stack([(-b - root) / (2 * a), (-b + root) / (2 * a)], axis=1).tolist()


def wilson_of_scipy(found, trials, level):
    """Wilson score intervals by scipy.stats.binomtest, which also tests and so is slow: for the first few hundred."""
    intervals = []
    for k, n, confidence in zip(found, trials, level):
        interval = stats.binomtest(k, n).proportion_ci(confidence_level=confidence, method="wilson")
        intervals.append([interval.low, interval.high])
    return intervals


def degree_days(maximum, minimum, base, upper):
    """Daily degree days of the four methods, in the order of Rust's list, by NumPy's clip and mean."""
    high, low = numpy.asarray(maximum), numpy.asarray(minimum)
    lower, most = numpy.asarray(base), numpy.asarray(upper)
    pairs = [
        numpy.mean([numpy.clip(high, lower, most), numpy.clip(low, lower, most)], axis=0),
        numpy.mean([high, low], axis=0),
        numpy.clip(numpy.mean([high, low], axis=0), lower, most),
        numpy.mean([numpy.minimum(high, most), low], axis=0),
    ]
    return [numpy.maximum(mean - lower, 0).tolist() for mean in pairs]


json.dump(
    {
        "t_quantiles": t_quantiles(**questions["t_quantiles"]),
        "t_half_width": t_half_width(**questions["t_half_width"]),
        "wilson": wilson(**questions["wilson"]),
        "wilson_of_scipy": wilson_of_scipy(**{k: v[:500] for k, v in questions["wilson"].items()}),
        "degree_days": degree_days(**questions["degree_days"]),
    },
    sys.stdout,
)
