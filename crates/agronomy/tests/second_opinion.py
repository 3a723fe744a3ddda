"""Answers the questions of second_opinion.rs with SciPy, statsmodels and NumPy: JSON in on standard input, JSON out."""

import json
import sys

import numpy
from scipy import stats
from statsmodels.regression.linear_model import OLS, WLS
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.weightstats import DescrStatsW

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


def wilson_of_statsmodels(found, trials, level):
    """Wilson score intervals by statsmodels."""
    return [
        proportion_confint(k, n, alpha=1 - confidence, method="wilson")
        for k, n, confidence in zip(found, trials, level)
    ]


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


def t_tails(t, freedom):
    """Both tails beyond t."""
    return (2 * stats.t.sf(numpy.abs(t), numpy.asarray(freedom))).tolist()


def f_tails(f, above, below):
    """Upper tails of F."""
    return stats.f.sf(f, numpy.asarray(above), numpy.asarray(below)).tolist()


def weighted(values, weights, level):
    """Weighted least squares on a constant with the HC1 variance: mean, standard error, interval."""
    answers = []
    for v, w, confidence in zip(values, weights, level):
        fit = WLS(v, numpy.ones(len(v)), weights=w).fit(cov_type="HC1", use_t=True)
        low, high = fit.conf_int(alpha=1 - confidence)[0]
        answers.append([fit.params[0], fit.bse[0], low, high])
    return answers


def tally(values, times, level):
    """DescrStatsW, whose weights are how often each value was met: mean, standard error, interval."""
    answers = []
    for v, n, confidence in zip(values, times, level):
        described = DescrStatsW(numpy.asarray(v), weights=numpy.asarray(n, dtype=float), ddof=0)
        low, high = described.tconfint_mean(alpha=1 - confidence)
        answers.append([described.mean, described.std_mean, low, high])
    return answers


def regression(x, y, at, level):
    """OLS with a constant, and its prediction: slope, intercept, their errors and intervals, R2, p, two intervals."""
    answers = []
    for xs, ys, there, confidence in zip(x, y, at, level):
        fit = OLS(ys, numpy.column_stack([numpy.ones(len(xs)), xs])).fit()
        alpha = 1 - confidence
        (intercept_low, intercept_high), (slope_low, slope_high) = fit.conf_int(alpha=alpha)
        there = fit.get_prediction([[1.0, there]])
        (mean,) = there.conf_int(obs=False, alpha=alpha)
        (new,) = there.conf_int(obs=True, alpha=alpha)
        answers.append(
            [fit.params[1], fit.bse[1], slope_low, slope_high, fit.params[0], fit.bse[0], intercept_low, intercept_high]
            + [fit.rsquared, fit.pvalues[1], float(there.predicted_mean[0]), *mean, *new]
        )
    return answers


def welch(first, second, level):
    """scipy.stats.ttest_ind without equal variances, all cases of one form at once: t, df, p, interval."""
    answers = [None] * len(first)
    forms = {}
    for case, (a, b, confidence) in enumerate(zip(first, second, level)):
        forms.setdefault((len(a), len(b), confidence), []).append(case)
    for (_, _, confidence), cases in forms.items():
        a = numpy.array([first[case] for case in cases])
        b = numpy.array([second[case] for case in cases])
        test = stats.ttest_ind(a, b, axis=1, equal_var=False)
        low, high = test.confidence_interval(confidence)
        for case, *row in zip(cases, test.statistic, test.df, test.pvalue, low, high):
            answers[case] = [float(number) for number in row]
    return answers


def anova(groups):
    """scipy.stats.f_oneway: F and p."""
    tests = [stats.f_oneway(*[numpy.asarray(group) for group in case]) for case in groups]
    return [[float(test.statistic), float(test.pvalue)] for test in tests]


def against_the_others(groups, level):
    """Contrasts of an OLS on the groups, adjusted by multipletests: difference, error, interval, p of each group."""
    answers = []
    for case, confidence in zip(groups, level):
        count = len(case)
        sizes = [len(group) for group in case]
        membership = numpy.repeat(numpy.eye(count), sizes, axis=0)
        fit = OLS(numpy.concatenate(case), membership).fit()
        contrasts = (numpy.eye(count) * count - 1) / (count - 1)
        test = fit.t_test(contrasts)
        low, high = test.conf_int(alpha=(1 - confidence) / count).T
        adjusted = multipletests(numpy.atleast_1d(test.pvalue), method="bonferroni")[1]
        answers.append(numpy.column_stack([test.effect, numpy.ravel(test.sd), low, high, adjusted]).tolist())
    return answers


def pairs(groups):
    """p of every two groups with the pooled deviation, adjusted by multipletests, in the order (0, 1), (0, 2), ..."""
    answers = []
    for case in groups:
        count = len(case)
        membership = numpy.repeat(numpy.eye(count), [len(group) for group in case], axis=0)
        fit = OLS(numpy.concatenate(case), membership).fit()
        contrasts = [numpy.eye(count)[i] - numpy.eye(count)[j] for i in range(count) for j in range(i + 1, count)]
        answers.append(multipletests(numpy.atleast_1d(fit.t_test(contrasts).pvalue), method="bonferroni")[1].tolist())
    return answers


KNOWN = {
    "t_quantiles": t_quantiles,
    "t_half_width": t_half_width,
    "wilson": wilson,
    "wilson_of_statsmodels": wilson_of_statsmodels,
    "degree_days": degree_days,
    "t_tails": t_tails,
    "f_tails": f_tails,
    "weighted": weighted,
    "tally": tally,
    "regression": regression,
    "welch": welch,
    "anova": anova,
    "against_the_others": against_the_others,
    "pairs": pairs,
}

json.dump({name: KNOWN[name](**asked) for name, asked in questions.items()}, sys.stdout)
