"""Answers second_opinion_weather.rs with MetPy, AquaCrop-OSPy and nonlineartemppy: JSON in, JSON out."""

import json
import sys
import types

# MetPy teaches Matplotlib its units when it is imported. Nothing is drawn here, so Matplotlib is not installed.
sys.modules["pint.matplotlib"] = types.SimpleNamespace(setup_matplotlib_handlers=lambda registry, enable: None)

import numpy
import pandas
from aquacrop.solution.growing_degree_day import growing_degree_day
from metpy import calc
from metpy.units import units
from nonlineartemppy.calculations import degree_days

questions = json.load(sys.stdin)
SEA_LEVEL = 1013.25 * units.hPa


def humidity(air, dew):
    """Relative humidity from the dew point."""
    return calc.relative_humidity_from_dewpoint(air * units.degC, dew * units.degC).m_as("").tolist()


def wet_bulb_psychrometric(air, humidity):
    """Wet bulb that gives the humidity by MetPy's psychrometric equation, found by halving."""
    air, humidity = numpy.asarray(air), numpy.asarray(humidity)
    low, high = numpy.full(air.shape, -80.0), air.copy()
    for _ in range(60):
        middle = (low + high) / 2
        found = calc.relative_humidity_wet_psychrometric(SEA_LEVEL, air * units.degC, middle * units.degC).m_as("")
        low, high = numpy.where(found < humidity, middle, low), numpy.where(found < humidity, high, middle)
    return low.tolist()


def wet_bulb_adiabatic(air, humidity):
    """Wet bulb by Normand's rule: up to saturation, down again along the moist adiabat."""
    air = numpy.asarray(air) * units.degC
    dew = calc.dewpoint_from_relative_humidity(air, numpy.asarray(humidity))
    return calc.wet_bulb_temperature(SEA_LEVEL, air, dew).m_as("degC").tolist()


def crop_model(maximum, minimum, base, upper):
    """Methods 1 to 3 of the crop model: the mean brought between the thresholds, both temperatures first, or the minimum
    only capped; last, method 1 with an upper threshold that no day reaches."""
    days = list(zip(upper, base, maximum, minimum))
    answers = [[float(growing_degree_day(method, *day)) for day in days] for method in (1, 2, 3)]
    answers.append([float(growing_degree_day(1, 1000.0, *day[1:])) for day in days])
    return answers


def sine(maximum, minimum, base, upper):
    """Degree days over the base less those over the upper threshold, a pair of thresholds for each run of days."""
    answers = []
    for highs, lows, lower, most in zip(maximum, minimum, base, upper):
        days = pandas.DataFrame({"date": range(len(highs)), "tmax": highs, "tmin": lows})
        found = degree_days(days, [lower, most])
        answers.append((found[f"dday{lower}C"] - found[f"dday{most}C"]).tolist())
    return answers


KNOWN = {
    "humidity": humidity,
    "wet_bulb_psychrometric": wet_bulb_psychrometric,
    "wet_bulb_adiabatic": wet_bulb_adiabatic,
    "crop_model": crop_model,
    "sine": sine,
}

json.dump({name: KNOWN[name](**asked) for name, asked in questions.items()}, sys.stdout)
