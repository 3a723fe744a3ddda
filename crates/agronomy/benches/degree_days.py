"""Times the degree-day sums of assessment.rs in NumPy, on the same days: method, seconds (median), sum."""

import sys
import time

import numpy

days, repeats = int(sys.argv[1]), int(sys.argv[2])
i = numpy.arange(days)
maximum = 30.0 + (i * 7919 % 7000) / 100.0
minimum = maximum - (i * 104_729 % 3500) / 100.0
base, upper = 50.0, 86.0



def above(threshold):
    """Mean height of each day's sine curve over a threshold."""
    mean, amplitude = (maximum + minimum) / 2, (maximum - minimum) / 2
    # A day without range has no curve: its ratio is infinite or nothing, and clips to a whole day over or under.
    with numpy.errstate(divide="ignore", invalid="ignore"):
        ratio = numpy.nan_to_num((threshold - mean) / amplitude, nan=0.0, posinf=1.0, neginf=-1.0)
    theta = numpy.arcsin(numpy.clip(ratio, -1, 1))
    part = ((mean - threshold) * (numpy.pi / 2 - theta) + amplitude * numpy.cos(theta)) / numpy.pi
    return numpy.where(threshold <= minimum, mean - threshold, numpy.where(threshold >= maximum, 0.0, part))


METHODS = {
    "modified-average": lambda: (numpy.clip(maximum, base, upper) + numpy.clip(minimum, base, upper)) / 2 - base,
    "simple-average": lambda: numpy.maximum((maximum + minimum) / 2 - base, 0),
    "clipped-average": lambda: numpy.clip((maximum + minimum) / 2, base, upper) - base,
    "capped-maximum": lambda: numpy.maximum((numpy.minimum(maximum, upper) + minimum) / 2 - base, 0),
    "single-sine": lambda: above(base) - above(upper),
}

for name, of_each_day in METHODS.items():
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        total = of_each_day().sum()
        times.append(time.perf_counter() - start)
    print(name, sorted(times)[repeats // 2], repr(float(total)))
