"""Writes workbooks of stand counts, as a spreadsheet program would: `sheets.py FOLDER`."""

import datetime
import sys
import zipfile
from pathlib import Path

import openpyxl
import xlsxwriter

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
    titled.active.row_dimensions[5].hidden = True
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

    # Another program keeps texts in a part of their own, and the values of its formulas beside them.
    shared = xlsxwriter.Workbook(folder / "shared.xlsx")
    sheet = shared.add_worksheet("Counts")
    sheet.write_row(0, 0, HEADER)
    formats = [None, shared.add_format({"num_format": "d mmm yyyy"}), shared.add_format({"num_format": "h:mm AM/PM"})]
    formats.append(shared.add_format({"num_format": "d/m/yy h:mm"}))
    for row, (field, day, time, *numbers, remark) in enumerate(COUNTS, 1):
        sheet.write_string(row, 0, field)
        sheet.write_datetime(row, 1, day, formats[3 if isinstance(day, datetime.datetime) else 1])
        if time:
            sheet.write_datetime(row, 2, time, formats[2])
        sheet.write_row(row, 3, numbers)
        sheet.write_formula(row, 5, f"={numbers[2]}+0", None, numbers[2])
        sheet.write(row, 6, remark)
    sheet.write_rich_string(4, 0, "no", shared.add_format({"bold": True}), "rth-40")
    sheet.write_row(4, 1, ["28 May 2025", "07:17", 30, 17.416666666666668, 29])
    shared.close()

    # A number that is shown in per cent is kept a hundred times smaller.
    percent = book([["Field", "Date", "Yield (bu/ac)", "Moisture (%)"], ["north-40", datetime.date(2025, 10, 7), 203.4, 0.155],
                    ["north-40", datetime.date(2025, 10, 8), 198, 16.5]])
    percent.active["D2"].number_format = "0.0%"
    percent.save(folder / "percent.xlsx")

    # Small files that would fill the memory: blanks without end, and texts made of texts.
    entities = b'<!DOCTYPE s [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><sst><si><t>&b;</t></si></sst>'
    endless = b"<worksheet><sheetData>" + b" " * (257 << 20)
    for name, part, xml in [
        ("bomb.xlsx", "xl/worksheets/sheet1.xml", endless),
        ("entities.xlsx", "xl/sharedStrings.xml", entities),
    ]:
        with zipfile.ZipFile(folder / "shared.xlsx") as old, zipfile.ZipFile(folder / name, "w", zipfile.ZIP_DEFLATED) as new:
            for each in old.namelist():
                new.writestr(each, xml if each == part else old.read(each))


main(Path(sys.argv[1]))
