"""Answers the questions of second_opinion.rs with SciPy and NumPy: JSON on standard input, JSON on standard output."""

import json
import sys

import numpy
from scipy import stats

questions = json.load(sys.stdin)


def t_half_width(samples, level):
    """Half the width of the t interval of each sample, by scipy.stats.t.interval."""
    widths = []
    for sample, confidence in zip(samples, level):
        values = numpy.asarray(sample)
        low, high = stats.t.interval(confidence, len(values) - 1, loc=values.mean(), scale=stats.sem(values))
        widths.append((high - low) / 2)
    return widths


def t_quantiles(level, freedom):
    """Two-sided critical values of Student's t."""
    return stats.t.ppf((1 + numpy.asarray(level)) / 2, numpy.asarray(freedom)).tolist()


def wilson(found, trials, level):
    """Wilson score intervals, by scipy.stats.binomtest."""
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
        "degree_days": degree_days(**questions["degree_days"]),
    },
    sys.stdout,
)
