"""Audits the records of many plants on a cluster of Dask, a worked example for docs/at-scale.md.

    python cluster.py PROGRAM RECORDS OUT [--scheduler ADDRESS | --workers N]

PROGRAM is `holdtrace`, in the same place on every machine. RECORDS is storage that all of them see:

    RECORDS/COMPANY/PLANT/YYYY-MM/...    the records of a month with plant file, journals and all that lies beside them

OUT, which must not be there yet, gets what `holdtrace summary --format parquet` writes for a folder, for all of
them, with the company and the folder of the plant as two folders more (`plant` is a column):

    OUT/days/company=C/site=P/unit=U/month=YYYY-MM/FOLDER.parquet
    OUT/exceptions/...

A month of a plant is one task. The program judges a day together with the record before it of the same pasteurizer,
so a task brings records before the month along, the last by the order of folders and names, until there is one of each
pasteurizer, and leaves their rows away again. Nothing about milk is decided here.

A task may run twice, on two machines, or end in its middle: what it writes has a name of its own and is put in place
whole. A file that can't be read is a row with its problem, as the program writes it. A month that the program can't do
at all, as where a plant file is wrong, is printed with its cause, and the exit status is 1.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import pyarrow
import pyarrow.parquet as parquet
from distributed import Client, LocalCluster, as_completed


@dataclass(frozen=True)
class Month:
    """The records of one month of one plant."""

    company: str
    plant: str
    folder: Path
    # The folders of the months before, the last first.
    before: tuple[Path, ...]


def months(records):
    """Every month of every plant, in order."""
    found = []
    for company in folders(records):
        for plant in folders(company):
            all_months = folders(plant)
            for place, folder in enumerate(all_months):
                found.append(Month(company.name, plant.name, folder, tuple(reversed(all_months[:place]))))
    return found


def folders(of):
    return sorted(path for path in of.iterdir() if path.is_dir())


def audit(month, program, out):
    """Audits a month and puts its rows into `out`. Returns how many days and problems there are."""
    records = (sorted(folder.glob("*.csv"), reverse=True) for folder in month.before)
    # What stands beside a record has its name and something more behind a dot.
    earlier = [path for folder in records for path in folder if "." not in path.stem]
    count = 1
    while True:
        with tempfile.TemporaryDirectory() as scratch:
            brought = earlier[:count]
            written = summarize(month, brought, program, Path(scratch))
            names = {path.name for path in brought}
            if len(brought) == len(earlier) or is_enough(written, names):
                return hand_in(month, written, names, out)
        count *= 2


def summarize(month, brought, program, scratch):
    """Puts the month, the plant file and the records before into a folder and has the program sum it up."""
    plant = scratch / "plant"
    shutil.copytree(month.folder, plant / month.folder.name)
    for file in month.folder.parent.iterdir():
        if file.is_file():
            shutil.copy(file, plant)
    for record in brought:
        if (month.folder / record.name).exists():
            raise RuntimeError(f"{record}: a record of {month.folder} has the same name; nothing would tell them apart")
        into = plant / record.parent.name
        into.mkdir(exist_ok=True)
        # The plant file, journals and registers, and of the other files those of this record.
        for file in record.parent.iterdir():
            if file.suffix != ".csv" or file.name.startswith(f"{record.stem}."):
                shutil.copy(file, into)
    written = scratch / "written"
    # From the folder itself, so that what the program says of a file names no path of this machine.
    command = [program, "summary", ".", "--format", "parquet", "--output", written]
    # What the program keeps between two runs is of this folder, which nobody sees again.
    environment = {**os.environ, "XDG_CACHE_HOME": str(scratch), "XDG_DATA_HOME": str(scratch)}
    done = subprocess.run(command, cwd=plant, capture_output=True, text=True, env=environment)
    if done.returncode != 0:
        raise RuntimeError(f"{month.folder}: {done.stderr.strip() or done.returncode}")
    return written


def is_enough(written, brought):
    """Whether each pasteurizer of the month has a record among those brought along that could be read."""
    of_month, of_brought = set(), set()
    for part in written.glob("days/*/*/*.parquet"):
        unit = part.relative_to(written).parts[1]
        rows = parquet.read_table(part, columns=["record", "problem"], partitioning=None).to_pylist()
        for row in rows:
            if row["problem"] is None:
                (of_brought if row["record"] in brought else of_month).add(unit)
    return of_month <= of_brought


def hand_in(month, written, brought, out):
    """Puts the rows of the month into `out`."""
    counts = {"days": 0, "problems": 0}
    for part in sorted(written.glob("*/*/*/*.parquet")):
        rows = without(parquet.read_table(part, partitioning=None), brought)
        if rows.num_rows == 0:
            continue
        table, unit, period, name = part.relative_to(written).parts
        if table == "days":
            counts["days"] += rows.num_rows
            counts["problems"] += rows.num_rows - rows["problem"].null_count
        place = Path(out, table, *keys(month.company, month.plant), unit, period)
        place.mkdir(parents=True, exist_ok=True)
        # Two tasks never write the same name, and one that runs twice writes the same.
        number = name.removeprefix("part-").removesuffix(".parquet")
        whole(rows, place / f"{quote(month.folder.name, safe='')}-{number}.parquet")
    return counts


def keys(company, plant):
    """The names of the two folders that the cluster adds, as Hive writes them."""
    return f"company={quote(company, safe='')}", f"site={quote(plant, safe='')}"


def without(rows, brought):
    """The rows of other records. By slices: pyarrow filters no texts as the program's Parquet has them."""
    names = rows["record"].to_pylist()
    kept = [rows.slice(row, 1) for row, name in enumerate(names) if name not in brought]
    if len(kept) == len(names):
        return rows
    return pyarrow.concat_tables(kept) if kept else rows.slice(0, 0)


def whole(rows, path):
    """Writes a file under another name and gives it its own when it is on the disk."""
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(descriptor, "wb") as file:
            parquet.write_table(rows, file)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def submit(client, program, records, out):
    """Hands every month to the cluster; a future each."""
    Path(out).mkdir(parents=True)
    work = months(Path(records))
    # A month whose worker is lost goes to another one by itself; one that the program refuses fails at once.
    return client.map(audit, work, program=str(program), out=str(out), pure=False)


def collect(futures):
    """Waits for all months. Returns the counts together and what failed."""
    counts, failed = {"days": 0, "problems": 0}, []
    for future in as_completed(futures):
        error = future.exception()
        if error is None:
            for name, count in future.result().items():
                counts[name] += count
        else:
            failed.append(str(error))
    return counts, sorted(failed)


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("program", type=Path)
    arguments.add_argument("records", type=Path)
    arguments.add_argument("out", type=Path)
    arguments.add_argument("--scheduler", help="a cluster that runs; otherwise one is made on this machine")
    arguments.add_argument("--workers", type=int, default=os.cpu_count())
    given = arguments.parse_args()
    if given.scheduler:
        client = Client(given.scheduler)
    else:
        client = Client(LocalCluster(n_workers=given.workers, threads_per_worker=1, dashboard_address=None))
    with client:
        counts, failed = collect(submit(client, given.program.resolve(), given.records, given.out))
    print(f"{counts['days']} records, {counts['problems']} of them not read")
    for failure in failed:
        print(failure, file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
