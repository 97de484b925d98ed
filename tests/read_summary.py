"""Reads a range's summary with five readers and compares each with the JSON.

Usage: read_summary.py FOLDER, which holds range.json, days.csv, exceptions.csv and the folder range/.
Readers: csv of the standard library, pandas (CSV), pyarrow, DuckDB and pandas (Parquet). Then the
totals are worked out anew with pandas. Prints how many rows were compared; exit status 1 and the
first difference if two do not agree.
"""

import csv
import json
import math
import sys
import unicodedata
from pathlib import Path

import duckdb
import pandas
import pyarrow.dataset

folder = Path(sys.argv[1])
summary = json.loads((folder / "range.json").read_text(encoding="utf-8"))
# A text that a spreadsheet would take for a formula has an apostrophe before it in CSV, nowhere else.
FORMULA = tuple("=+-@\t\r\n")


def differ(what, got, want):
    sys.exit(f"{what}: got {got!r}, want {want!r}")


def is_nothing(value):
    return value is None or value is pandas.NA or value is pandas.NaT or (
        isinstance(value, float) and math.isnan(value)
    )


def check(reader, name, rows):
    want = summary[name]
    if len(rows) != len(want):
        differ(f"{reader}, rows of {name}", len(rows), len(want))
    for row, wanted in zip(rows, want):
        if set(row) != set(wanted):
            differ(f"{reader}, columns of {name}", sorted(row), sorted(wanted))
        for key, value in wanted.items():
            got = row[key]
            if is_nothing(got) and value is None:
                continue
            if isinstance(value, (int, float)) and not is_nothing(got) and float(got) == value:
                continue
            if got != value:
                differ(f"{reader}, {name}, {key}", got, value)


def visible(text):
    """What the program writes for characters that are obeyed or not seen."""
    hidden = lambda one: unicodedata.category(one) in ("Cc", "Cf", "Zl", "Zp")
    return "".join(f"\\u{{{ord(one):x}}}" if hidden(one) else one for one in text)


def as_meant(cell, value):
    """A cell as it was before it was made harmless, where that is what the cell shows."""
    if value.startswith(FORMULA):
        cell = cell.removeprefix("'")
    return value if cell == visible(value) else cell


def from_csv(name):
    with open(folder / f"{name}.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row, wanted in zip(rows, summary[name]):
        for key, value in wanted.items():
            if value is None and row[key] == "":
                row[key] = None
            elif isinstance(value, bool):
                row[key] = {"true": True, "false": False}[row[key]]
            elif isinstance(value, (int, float)):
                row[key] = float(row[key])
            elif isinstance(value, str):
                row[key] = as_meant(row[key], value)
    return rows


def from_pandas(name):
    frame = pandas.read_csv(folder / f"{name}.csv", keep_default_na=False, na_values=[""])
    rows = frame.to_dict("records")
    for row, wanted in zip(rows, summary[name]):
        for key, value in wanted.items():
            if isinstance(value, bool):
                row[key] = bool(row[key])
            elif isinstance(value, str) and isinstance(row[key], str):
                row[key] = as_meant(row[key], value)
    return rows


def in_order(name, rows):
    order = {
        (row["record"], row.get("id")): number for number, row in enumerate(summary[name])
    }
    for row in rows:
        row.pop("month")
        if row["unit"] == "unknown":  # a record that can't be read
            row["unit"] = None
    return sorted(rows, key=lambda row: order[(row["record"], row.get("id"))])


for name in ("days", "exceptions"):
    check("csv", name, from_csv(name))
    check("pandas", name, from_pandas(name))
    path = folder / "range" / name
    hive = pyarrow.dataset.dataset(path, partitioning="hive").to_table()
    check("pyarrow", name, in_order(name, hive.to_pylist()))
    pattern = str(path / "**" / "*.parquet")
    query = duckdb.sql(f"SELECT * FROM read_parquet('{pattern}', hive_partitioning = true)")
    columns = [column[0] for column in query.description]
    check("DuckDB", name, in_order(name, [dict(zip(columns, row)) for row in query.fetchall()]))
    frame = pandas.read_parquet(path)
    frame = frame.astype({"unit": str, "month": str}).astype(object).where(frame.notna(), None)
    check("pandas", name, in_order(name, frame.to_dict("records")))

# The totals, worked out anew from the rows that DuckDB and pandas agree on.
days, exceptions = pandas.DataFrame(summary["days"]), pandas.DataFrame(summary["exceptions"])
totals = summary["totals"]
for key, got in {
    "records": len(days),
    "unreadable": int(days["problem"].notna().sum()),
    "days": days["date"].nunique(),
    "days_produced": days[days["forward_ms"] > 0]["date"].nunique(),
    "recorded_ms": days["recorded_ms"].sum(),
    "forward_ms": days["forward_ms"].sum(),
    "exception_ms": days["exception_ms"].sum(),
    "exceptions": int((~exceptions["outside_production"].astype(bool)).sum()),
    "resolved": days["resolved"].sum(),
    "outside_production": int(exceptions["outside_production"].astype(bool).sum()),
    "to_close": days["to_close"].sum(),
    "holes": int(days["hole_before_to_close"].sum()),
    "holes_closed": int(days["hole_before_closed"].notna().sum()),
    "holes_ms": int(days[days["hole_before_to_close"].astype(bool)]["hole_before_ms"].sum()),
    "required": days["required"].sum(),
    "missing": days["missing"].sum(),
    "volume_incomplete": days["volume_incomplete"].sum(),
}.items():
    if got != totals[key]:
        differ(f"total {key}", got, totals[key])
produced = exceptions[~exceptions["outside_production"].astype(bool)]
for by, column in (("by_rule", "rule"), ("by_cause", "cause"), ("by_disposition", "disposition")):
    keys = produced[column].fillna("")
    for key, group in produced.groupby(keys):
        want = totals[by][key]
        got = {
            "count": len(group),
            "duration_ms": int(group["duration_ms"].sum()),
            "at_most_ms": int(group["outer_duration_ms"].sum()),
        }
        if got != want:
            differ(f"total {by} {key}", got, want)
    if set(keys) != set(totals[by]):
        differ(f"keys of {by}", set(keys), set(totals[by]))
for unit, group in days[days["passed_unit"].notna()].groupby("passed_unit"):
    want = totals["passed"][unit]
    for column, key in (("passed", "value"), ("passed_at_most", "at_most")):
        if not math.isclose(group[column].sum(), want[key], rel_tol=1e-12):
            differ(f"total passed {key}", group[column].sum(), want[key])
if days["stage"].value_counts().to_dict() != {k: v for k, v in totals["by_stage"].items() if v}:
    differ("stages", days["stage"].value_counts().to_dict(), totals["by_stage"])
if days["signatures"].sum() != totals["signatures"]["given"]:
    differ("signatures", days["signatures"].sum(), totals["signatures"]["given"])
hours = days["hours_to_sign"].dropna()
if not math.isclose(hours.max(), totals["to_sign"]["longest_hours"]):
    differ("hours to sign", hours.max(), totals["to_sign"])

print(f"{len(days)} days, {len(exceptions)} exceptions read alike by 5 readers")
