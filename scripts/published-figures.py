#!/usr/bin/env python3
"""Prints what Python's csv module and float() find in the published data of tests/published.

tests/tests/published.rs holds the program to the table, which is kept beside the data:
    python3 scripts/published-figures.py > tests/published/figures.csv
A line a column: its number, its name, how many of its cells are numbers, and the least and the greatest of them.
The name of a file stands above its columns, with the number of its rows and the stamps of the first and the last.
"""

import csv
import sys
from datetime import datetime
from pathlib import Path

# How each file is written: its delimiter, and how its first cells are a stamp.
FILES = {
    "appliances-energy.csv": (",", 1, "%Y-%m-%d %H:%M:%S"),
    "household-power.csv": (";", 2, "%d/%m/%Y %H:%M:%S"),
}


def numbers(cells):
    for cell in cells:
        try:
            yield float(cell)
        except ValueError:
            pass


def main():
    folder = Path(__file__).parent.parent / "tests/published"
    out = csv.writer(sys.stdout, lineterminator="\n")
    for name, (delimiter, stamp_cells, form) in FILES.items():
        with open(folder / name, newline="") as file:
            names, *rows = csv.reader(file, delimiter=delimiter)
        ends = [datetime.strptime(" ".join(row[:stamp_cells]), form).isoformat() for row in (rows[0], rows[-1])]
        out.writerow(["file", name, len(rows), *ends])
        for number, column in enumerate(names):
            found = list(numbers(row[number] for row in rows))
            ends = [min(found), max(found)] if found else ["", ""]
            out.writerow([number, column, len(found), *ends])


main()
