#!/usr/bin/env python3
"""engines.py duckdb|polars|pandas FILE...: the least comparable work of a general-purpose engine, with all cores.

Reads the CSV, finds forward rows below the temperature or the differential limit, puts consecutive rows together, and
gives begin, end, least readings and summed flow of each run. No gaps, no holding time, no doubts, no digest. The columns
are those of `bench file`. Without a file it says whether the engine is installed."""
import sys

which, files = sys.argv[1], sys.argv[2:]
TIME, VALVE, HOLD, RECORDER, RAW, PAST, FLOW, PRODUCT = range(8)


def header():
    with open(files[0], encoding="utf-8") as file:
        return file.readline().rstrip("\n").split(",")


if which == "duckdb":
    import duckdb

    if files:
        kinds = ["TIMESTAMP", "VARCHAR", "DOUBLE", "DOUBLE", "DOUBLE", "DOUBLE", "DOUBLE", "VARCHAR"]
        names = ["time", "valve", "hold", "recorder", "raw", "past", "flow", "product"]
        columns = ", ".join(f"'{name}': '{kind}'" for name, kind in zip(names, kinds))
        print(duckdb.sql(f"""
          with rows as (select time, valve, hold, past - raw as dp, flow
                        from read_csv({files!r}, header = true, columns = {{{columns}}})),
          causes as (select *, case when valve = 'FWD' and hold < 161 then 't'
                                    when valve = 'FWD' and dp < 2 then 'd' else '' end as cause from rows),
          steps as (select *, lag(cause) over (order by time) as before from causes),
          runs as (select *, sum(case when cause is distinct from before then 1 else 0 end)
                             over (order by time) as run from steps)
          select count(*), sum(rows) from (select run, cause, min(time), max(time), min(hold), min(dp), sum(flow) as volume,
                                                  count(*) as rows from runs where cause <> '' group by run, cause)
        """).fetchall())
elif which == "polars":
    import polars as pl

    if files:
        kinds = [pl.String, pl.String, pl.Float64, pl.Float64, pl.Float64, pl.Float64, pl.Float64, pl.String]
        names = header()
        col = [pl.col(name) for name in names]
        dp = col[PAST] - col[RAW]
        found = (
            pl.scan_csv(files, schema=dict(zip(names, kinds)))
            .with_columns(col[TIME].str.to_datetime("%Y-%m-%d %H:%M:%S"), dp.alias("dp"))
            .with_columns(
                pl.when((col[VALVE] == "FWD") & (col[HOLD] < 161)).then(pl.lit("t"))
                .when((col[VALVE] == "FWD") & (pl.col("dp") < 2)).then(pl.lit("d"))
                .otherwise(pl.lit("")).alias("cause"))
            .with_columns(pl.col("cause").rle_id().alias("run"))
            .filter(pl.col("cause") != "")
            .group_by("run", "cause")
            .agg(col[TIME].min().alias("begin"), col[TIME].max().alias("end"), col[HOLD].min(), pl.col("dp").min(),
                 col[FLOW].sum(), pl.len())
            .collect(engine="streaming"))
        print(found.height, found["len"].sum())
elif which == "pandas":
    import pandas as pd

    if files:
        names = header()
        rows = pd.concat([pd.read_csv(file, engine="pyarrow") for file in files])
        rows.columns = range(len(names))
        rows[TIME] = pd.to_datetime(rows[TIME])
        dp = rows[PAST] - rows[RAW]
        forward = rows[VALVE] == "FWD"
        cause = pd.Series("", index=rows.index)
        cause[forward & (dp < 2)] = "d"
        cause[forward & (rows[HOLD] < 161)] = "t"
        run = (cause != cause.shift()).cumsum()
        bad = cause != ""
        found = pd.DataFrame({"time": rows[TIME][bad], "hold": rows[HOLD][bad], "dp": dp[bad], "flow": rows[FLOW][bad],
                              "run": run[bad]})
        found = found.groupby("run").agg(begin=("time", "min"), end=("time", "max"), hold=("hold", "min"),
                                         dp=("dp", "min"), flow=("flow", "sum"), rows=("hold", "size"))
        print(len(found), found.rows.sum())
