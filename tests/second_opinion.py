"""A second opinion on `holdtrace audit`, with nothing but csv and decimal.

Usage: second_opinion.py DAY.csv PLANT.toml AUDIT.json

Reads one of the sample runs on its own, finds the runs of short samples of the temperature and the
differential rule while the device was forward or in travel, and compares their first and last stamps with the audit's
`observed` intervals; works out the file's digest and the ids of all exceptions anew. Prints how
many runs were compared; exit status 1 and the differences if the two do not agree.
"""

import csv
import hashlib
import json
import re
import sys
from datetime import datetime
from decimal import Decimal, InvalidOperation
from statistics import median_low

# 21 CFR 1240.61(b) and its footnote 1, in degrees Fahrenheit as printed.
ROWS = {"us-milk-15s": Decimal(161), "us-rich-15s": Decimal(166)}
# Common practice; CFIA DEIM App. 19-6 prints 14 kPa (2 psi).
DIFFERENTIAL = Decimal(2)
# A device may pass through travel within this, in seconds; beyond it, it lingers (method, section 4).
ALLOWANCE = 1.0
# The causes of a stretch of time, which stand in an exception's id.
OF_TIME = ("gap", "gap_diverted", "unplaced_rows", "clock")
# No legal holding time is shorter, in seconds (method, section 3).
LONGEST_GAP = 15
STAMPS = ["%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%m/%d/%Y %I:%M:%S %p"]


def text_of(path):
    with open(path, "rb") as file:
        data = file.read()
    if data.startswith(b"\xff\xfe"):
        return data.decode("utf-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252")


def stamp(cell):
    for form in STAMPS:
        try:
            return datetime.strptime(cell, form)
        except ValueError:
            pass
    raise ValueError(f"no stamp: {cell!r}")


def number(cell):
    try:
        value = Decimal(cell.replace(",", "."))
    except InvalidOperation:
        return None
    # The sample runs write -999.9 for a sensor that failed.
    return value if value.is_finite() and value > -900 else None


def samples(path, plant):
    lines = text_of(path).splitlines()
    header = next(i for i, line in enumerate(lines) if "FDD Position" in line)
    delimiter = next(mark for mark in ",;\t" if mark in lines[header])
    rows = csv.reader(lines[header:], delimiter=delimiter)
    names = next(rows)

    def place(role):
        return names.index(re.search(rf'^{role} = {{ column = "(.+?)"', plant, re.M).group(1))

    # The plant file is TOML; older Pythons can't read it, and these few lines of it are plain.
    limits = {name: ROWS[row] for name, row in
              re.findall(r'^name = "(.+)"\nrow = "(.+)"$', plant, re.M)}
    places = [place(role) for role in
              ("valve", "holding_temperature", "raw_pressure", "pasteurized_pressure", "product")]
    time = names.index("Time")
    last, second_pass = None, False
    for row in rows:
        if not row[time]:
            continue  # the row of units
        at = stamp(row[time])
        second_pass = second_pass or (last is not None and at < last)
        last = at
        valve, hot, raw, pasteurized, product = (row[i] for i in places)
        hot, raw, pasteurized = number(hot), number(raw), number(pasteurized)
        is_judged = valve in ("FWD", "TRV")
        yield (
            (at, second_pass),
            is_judged and hot is not None and hot < limits[product],
            is_judged and None not in (raw, pasteurized) and pasteurized - raw < DIFFERENTIAL,
            valve == "FWD",
        )


def elapsed(one, other):
    """Seconds between two stamps of which the second may lie after the clock was set back."""
    hour = 3600 if other[1] and not one[1] else 0
    return (other[0] - one[0]).total_seconds() + hour


def runs(day, verdict, gap):
    found, first, last, forward = [], None, None, False

    def close():
        if first and (forward or elapsed(first, last) > ALLOWANCE):
            found.append((first, last))

    for sample in day:
        if first and (not sample[verdict] or elapsed(last, sample[0]) > gap):
            close()
            first, forward = None, False
        if sample[verdict]:
            first = first or sample[0]
            last = sample[0]
            forward = forward or sample[3]
    close()
    return found


def exception_id(unit, exception):
    """Method, section 4: the first 48 bits of the SHA-256 of unit, rule, first instant and, of a
    stretch of time, its cause."""
    first = datetime.fromisoformat(exception["observed_start"])
    parts = [unit, exception["rule"], str(round(first.timestamp() * 1000))]
    parts += [cause for cause in exception["causes"] if cause in OF_TIME]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:12]


def main(csv_path, plant_path, audit_path):
    with open(plant_path, encoding="utf-8") as file:
        plant = file.read()
    with open(audit_path, encoding="utf-8") as file:
        audit = json.load(file)
    day = list(samples(csv_path, plant))
    steps = [elapsed(one[0], other[0]) for one, other in zip(day, day[1:])]
    gap = min(3 * median_low(steps), LONGEST_GAP)
    offset = datetime.fromisoformat(audit["record"]["start"]).utcoffset()

    def told(text):
        at = datetime.fromisoformat(text)
        return at.replace(tzinfo=None), at.utcoffset() != offset

    wrong = compared = 0
    for verdict, rule in ((1, "temperature"), (2, "differential")):
        own = runs(day, verdict, gap)
        theirs = [(told(one["observed_start"]), told(one["observed_end"]))
                  for one in audit["exceptions"] if one["rule"] == rule]
        compared += len(own)
        if own != theirs:
            wrong = 1
            print(f"{rule}: found {own}, told {theirs}")
    with open(csv_path, "rb") as file:
        digest = hashlib.sha256(file.read()).hexdigest()
    if [file["sha256"] for file in audit["record"]["files"]] != [digest]:
        wrong = 1
        print(f"the file's SHA-256 is {digest}")
    for one in audit["exceptions"]:
        own = exception_id(audit["record"]["unit"], one)
        if own != one["id"]:
            wrong = 1
            print(f"id {one['id']} should be {own}")
    if not wrong:
        print(compared)
    return wrong


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
