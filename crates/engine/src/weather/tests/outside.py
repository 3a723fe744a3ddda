"""Independent readers and sums, for the tests of the weather import.

    outside.py series OUT.csv OUT.json   the daily series `seattle-weather` of the package vega-datasets (°C, mm) as
                                         plain CSV, and its 86/50 degree days by NumPy
    outside.py read IN.dly OUT.json      a GHCN-Daily file as read by ghcndextractor and by pandas.read_fwf
"""

import json
import sys

import numpy
import pandas


def series(csv_path, json_path):
    from vega_datasets import data

    frame = data.seattle_weather()
    frame["date"] = pandas.to_datetime(frame["date"])
    out = pandas.DataFrame({
        "date": frame["date"].dt.strftime("%Y-%m-%d"),
        "tmin_c": frame["temp_min"],
        "tmax_c": frame["temp_max"],
        "precip_mm": frame["precipitation"],
    })
    out.to_csv(csv_path, index=False)
    high = numpy.clip(frame["temp_max"].to_numpy() * 1.8 + 32.0, 50.0, 86.0)
    low = numpy.clip(frame["temp_min"].to_numpy() * 1.8 + 32.0, 50.0, 86.0)
    daily = (high + low) / 2.0 - 50.0
    years = frame["date"].dt.year.to_numpy()
    with open(json_path, "w") as file:
        json.dump({
            "days": dict(zip(out["date"], daily.tolist())),
            "seasons": {str(y): float(numpy.sum(daily[years == y])) for y in numpy.unique(years)},
        }, file)


def read(dly_path, json_path):
    from ghcndextractor import ghcndextractor as other

    with open(dly_path) as file:
        for line in file:
            other.readRow(line.rstrip("\n"))
    by_other = {}
    for month in other.measurements.fileMeasurements.values():
        for day, values in month.days.items():
            for element, tenths in (("TMAX", 10), ("TMIN", 10), ("PRCP", 1)):
                kept = getattr(values, element)
                if kept and kept[2] == "":
                    key = f"{month.year}-{month.month}-{int(day):02d} {element}"
                    by_other[key] = int(kept[0] * tenths)

    columns = [(0, 11), (11, 15), (15, 17), (17, 21)]
    names = ["station", "year", "month", "element"]
    for day in range(31):
        start = 21 + 8 * day
        columns += [(start, start + 5), (start + 6, start + 7)]
        names += [f"value{day + 1}", f"quality{day + 1}"]
    frame = pandas.read_fwf(dly_path, colspecs=columns, names=names, dtype=str, keep_default_na=False)
    by_pandas = {}
    for row in frame.to_dict("records"):
        for day in range(1, 32):
            value = int(row[f"value{day}"])
            if row["element"] in ("TMAX", "TMIN", "PRCP") and value != -9999 and row[f"quality{day}"] == "":
                by_pandas[f"{row['year']}-{row['month']}-{day:02d} {row['element']}"] = value
    with open(json_path, "w") as file:
        json.dump({"ghcndextractor": by_other, "pandas": by_pandas}, file)


if __name__ == "__main__":
    {"series": series, "read": read}[sys.argv[1]](*sys.argv[2:])
