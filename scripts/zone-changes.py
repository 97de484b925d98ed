#!/usr/bin/env python3
"""Prints every change of the clock of some zones from 1990 to 2037, as Python's zoneinfo knows them.

tests/tests/zones.rs holds the program to the table, which is kept in tests/fixtures/zone-changes.txt:
    python3 scripts/zone-changes.py > tests/fixtures/zone-changes.txt
A line a zone: its name, its offset in minutes east of UTC at the beginning of 1990, and for each change the
second since 1970 and the offset from then on.
"""

from datetime import datetime, timezone
from pathlib import Path
from zoneinfo import TZPATH, ZoneInfo

# With half hours, with winter time that is the exception, with changes at midnight, given up, or none.
ZONES = """America/Chicago America/Halifax America/Havana America/Los_Angeles America/New_York America/Phoenix
America/Santiago America/Sao_Paulo America/St_Johns Africa/Casablanca Asia/Beirut Asia/Kolkata Asia/Tehran
Australia/Lord_Howe Australia/Sydney Europe/Berlin Europe/Dublin Europe/London Europe/Moscow
Pacific/Auckland""".split()
HOUR = 3600


def second(year):
    return int(datetime(year, 1, 1, tzinfo=timezone.utc).timestamp())


def offset(zone, at):
    return datetime.fromtimestamp(at, zone).utcoffset().total_seconds() / 60


def changes(zone):
    """The second and the new offset of each change, found by halving the hour it lies in."""
    before = offset(zone, second(1990))
    for at in range(second(1990), second(2038), HOUR):
        after = offset(zone, at + HOUR)
        if after == before:
            continue
        early, late = at, at + HOUR
        while late - early > 1:
            middle = (early + late) // 2
            early, late = (middle, late) if offset(zone, middle) == before else (early, middle)
        yield late, after
        before = after


def main():
    data = next(Path(path, "tzdata.zi") for path in TZPATH if Path(path, "tzdata.zi").exists())
    version = data.read_text().splitlines()[0].removeprefix("# version ")
    print(f"# IANA time zone database {version}, read with Python's zoneinfo by scripts/zone-changes.py")
    for name in ZONES:
        zone = ZoneInfo(name)
        table = [f"{at}:{minutes:g}" for at, minutes in changes(zone)]
        print(" ".join([name, f"{offset(zone, second(1990)):g}", *table]))


main()
