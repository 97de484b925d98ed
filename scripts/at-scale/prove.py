"""Shows that the cluster's answer is the single machine's: 200 files, a worker that is killed, files that can't be read.

    python prove.py PROGRAM BENCH FOLDER

FOLDER is made anew. Fails where a row differs, where no worker died while it had work, or where a file is missing.
"""

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pyarrow.dataset as dataset
from distributed import Client, LocalCluster

sys.path.insert(0, str(Path(__file__).parent))
import cluster

# Days of each plant; with the two files that can't be read, 200. Companies and plants are invented.
PLANTS = {("north", "hill farm"): 66, ("north", "river"): 66, ("south", "river"): 66}
INTERVAL_MS = 10_000


def make(bench, records):
    """The folders of the plants, a file a day, in months; two of the files are nothing that can be read."""
    for (company, plant), days in PLANTS.items():
        folder = records / company / plant
        subprocess.run([bench, "folder", folder, str(days), str(INTERVAL_MS)], check=True)
        for file in sorted(folder.glob("*.csv")):
            month = folder / file.name[:7]
            month.mkdir(exist_ok=True)
            file.rename(month / file.name)
            shutil.copy(folder / "plant.toml", month)
        (folder / "plant.toml").unlink()
    first_month = min((records / "north" / "river").glob("*/"))
    # By its name the last of its month, beside which the month after is to be judged.
    last = max(first_month.glob("*.csv"))
    (first_month / f"{last.stem}-b.csv").write_text("this is no record\n")
    (first_month / "unreadable.csv").write_bytes(b"\x00\x01 nor is this\n")


def alone(program, records, out):
    """What one machine writes: a summary for each plant."""
    for company in cluster.folders(records):
        for plant in cluster.folders(company):
            written = out / company.name / plant.name
            written.parent.mkdir(parents=True, exist_ok=True)
            command = [program, "summary", ".", "--format", "parquet", "--output", written]
            subprocess.run(command, cwd=plant, check=True, env={**os.environ, "XDG_CACHE_HOME": str(out)})
            for table in cluster.folders(written):
                keys = cluster.keys(company.name, plant.name)
                shutil.copytree(table, Path(out, "together", table.name, *keys))
    return out / "together"


def lines(folder, table):
    """The rows of a table as lines of text, every column by its name, sorted."""
    read = dataset.dataset(folder / table, format="parquet", partitioning="hive")
    rows = read.to_table()
    columns = sorted(rows.column_names)
    types = [str(rows.schema.field(name).type) for name in columns]
    cells = zip(*(rows[name].to_pylist() for name in columns))
    return [repr((columns, types))] + sorted(repr(row) for row in cells)


def with_a_killed_worker(program, records, out):
    """The cluster's answer; one of its two workers is killed while it audits."""
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as machines:
        with Client(machines) as client:
            pids = client.run(os.getpid)
            futures = cluster.submit(client, program, records, out)
            busy = None
            while busy is None:
                if all(future.done() for future in futures):
                    raise SystemExit("no worker could be killed: all was done")
                busy = next((name for name, tasks in client.processing().items() if tasks), None)
                time.sleep(0.01)
            os.kill(pids[busy], signal.SIGKILL)
            counts, failed = cluster.collect(futures)
            after = client.run(os.getpid)
            if pids[busy] in after.values():
                raise SystemExit("the worker that was to be killed is alive")
    if failed:
        raise SystemExit("\n".join(failed))
    return counts


def main():
    program, bench, folder = (Path(one).resolve() for one in sys.argv[1:4])
    shutil.rmtree(folder, ignore_errors=True)
    records = folder / "records"
    make(bench, records)
    began = time.monotonic()
    single = alone(program, records, folder / "alone")
    single_took = time.monotonic() - began
    began = time.monotonic()
    counts = with_a_killed_worker(program, records, folder / "cluster")
    took = time.monotonic() - began
    files = sum(1 for _ in records.rglob("*.csv"))
    if files != 200 or counts["days"] != files or counts["problems"] != 2:
        raise SystemExit(f"{files} files, {counts}")
    for table in ("days", "exceptions"):
        ours, theirs = lines(folder / "cluster", table), lines(single, table)
        if ours != theirs:
            differ = [pair for pair in zip(ours, theirs) if pair[0] != pair[1]]
            raise SystemExit(f"{table}: {len(ours)} and {len(theirs)} rows; {differ[:1]}")
        print(f"{table}: {len(ours) - 1} rows, the same")
    # A row more or less is seen.
    if lines(single, "days")[:-1] == lines(folder / "cluster", "days"):
        raise SystemExit("a row that is missing was not seen")
    print(f"{files} files: one machine {single_took:.1f} s, the cluster with a killed worker {took:.1f} s")


if __name__ == "__main__":
    main()
