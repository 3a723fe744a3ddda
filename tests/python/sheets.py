"""Writes workbooks of stand counts, as a spreadsheet program would: `sheets.py FOLDER`."""

import datetime
import sys
from pathlib import Path

import openpyxl

HEADER = ["Field", "Date", "Time", "Row width (in)", "Length (ft)", "Plants", "Remarks"]
COUNTS = [
    ["north-40", datetime.date(2025, 5, 28), datetime.time(7, 5), 30, 17.416666666666668, 31, "blind start"],
    ["north-40", datetime.date(2025, 5, 28), datetime.time(7, 11), 30, 17.416666666666668, 27.5, None],
    ["creek", datetime.datetime(2025, 5, 28, 13, 40), None, 30, 17.416666666666668, 29, "ñandú & <co>"],
]


def book(rows, sheet="Counts"):
    workbook = openpyxl.Workbook()
    workbook.active.title = sheet
    for row in rows:
        workbook.active.append(row)
    return workbook


def main(folder):
    good = book([HEADER, *COUNTS])
    hidden = good.create_sheet("lists")
    hidden.append(["corn"])
    hidden.sheet_state = "hidden"
    good.save(folder / "counts.xlsx")

    titled = book([["Counts of May"], [], HEADER, *COUNTS])
    titled.active.merge_cells("A1:G1")
    titled.save(folder / "titled.xlsx")

    several = book([HEADER, *COUNTS], "May")
    several.create_sheet("June").append(HEADER)
    several.save(folder / "several.xlsx")

    # The numbers of the days, without the format that says so: 28 May 2025.
    serial = book([HEADER, *[[row[0], 45805, None, *row[3:]] for row in COUNTS]])
    serial.save(folder / "serial.xlsx")

    merged = book([HEADER, *COUNTS])
    merged.active.merge_cells("A2:A3")
    merged.save(folder / "merged.xlsx")

    # A formula whose value nobody has worked out yet, and one that is an error.
    formula = book([HEADER, *COUNTS])
    formula.active["F2"] = "=15+16"
    formula.active["F3"] = "#DIV/0!"
    formula.save(folder / "formula.xlsx")

    long = openpyxl.Workbook(write_only=True)
    sheet = long.create_sheet("many")
    sheet.append(HEADER)
    for _ in range(int(sys.argv[2]) if len(sys.argv) > 2 else 0):
        sheet.append(["north-40", "2025-05-28", None, 30, 17.5, 31])
    long.save(folder / "many.xlsx")


main(Path(sys.argv[1]))
