"""Writes a table of readings as Parquet in every way that its writers have, for a test that reads each.

Called with a folder. The table is the one that `tests/tests/parquet.rs` writes as text: 300 rows, some cells blank.
"""

import decimal
import pathlib
import sys

import duckdb
import pyarrow as pa
import pyarrow.parquet as pq

folder = pathlib.Path(sys.argv[1])
rows = range(300)
# 2026-11-24 04:00:00 UTC; every row half a second later.
stamps = [1_795_492_800_000 + 500 * row for row in rows]
held = [None if row % 50 == 7 else 161.1 + (row * 7 % 40) / 10 for row in rows]
table = pa.table(
    {
        "Time": pa.array(stamps, pa.timestamp("ms", tz="UTC")),
        "FDV": pa.array(["DIV" if row // 20 % 4 == 3 else "FWD" for row in rows]),
        "Hold temp (°F)": pa.array([None if one is None else round(one, 1) for one in held]),
        "dP (psi)": pa.array([(row * 3 % 41) - 4 for row in rows], pa.int32()),
        "Flow (gal/min)": pa.array([45.1 + row % 9 for row in rows], pa.float32()),
        "Product": pa.array([None if row % 90 == 3 else "whole milk" for row in rows]),
        "Lot": pa.array([f"0324-{row // 100}" for row in rows]),
    }
)
ways = {}


def write(name, table=table, **how):
    pq.write_table(table, folder / f"{name}.parquet", **how)


def changed(name, kind):
    """The table with a column of another kind."""
    place = table.column_names.index(name)
    return table.set_column(place, name, table.column(name).cast(kind))


for codec in ["none", "snappy", "gzip", "zstd"]:
    for version in ["1.0", "2.0"]:
        write(f"{codec}-{version[0]}", compression=codec, data_page_version=version)
write("checked", write_page_checksum=True)
write("plain", use_dictionary=False)
write("groups", row_group_size=64, data_page_size=64)
write("old", version="1.0")
write("bare", store_schema=False, write_statistics=False)
for name, encoding in {
    "delta": {"Time": "DELTA_BINARY_PACKED", "dP (psi)": "DELTA_BINARY_PACKED"},
    "lengths": {"FDV": "DELTA_LENGTH_BYTE_ARRAY", "Lot": "DELTA_LENGTH_BYTE_ARRAY"},
    "fronts": {"FDV": "DELTA_BYTE_ARRAY", "Lot": "DELTA_BYTE_ARRAY", "Product": "DELTA_BYTE_ARRAY"},
    "split": {one: "BYTE_STREAM_SPLIT" for one in ["Hold temp (°F)", "Flow (gal/min)", "dP (psi)", "Time"]},
}.items():
    for version in ["1.0", "2.0"]:
        write(
            f"{name}-{version[0]}",
            use_dictionary=False,
            column_encoding=encoding,
            data_page_version=version,
        )
for unit in ["us", "ns"]:
    write(f"stamps-{unit}", changed("Time", pa.timestamp(unit, tz="UTC")))
    write(f"clock-{unit}", changed("Time", pa.timestamp(unit)))
write("int96", changed("Time", pa.timestamp("ns")), use_deprecated_int96_timestamps=True)
write("whole", changed("dP (psi)", pa.int64()))
write("small", changed("dP (psi)", pa.int8()))
write("double", changed("Flow (gal/min)", pa.float32()))
write("large", changed("Lot", pa.large_string()))
write("words", changed("Lot", pa.binary()))
write("dictionary", changed("FDV", pa.dictionary(pa.int32(), pa.string())))
for name, digits in {"decimal": 4, "decimal-long": 15, "decimal-longest": 30}.items():
    column = [None if one is None else decimal.Decimal(f"{one:.1f}") for one in held]
    place = table.column_names.index("Hold temp (°F)")
    decimals = pa.array(column, pa.decimal128(digits, 1))
    exact = table.set_column(place, "Hold temp (°F)", decimals)
    write(name, exact)
    write(f"{name}-whole", exact, store_decimal_as_integer=True)
empty = table.append_column("Spare", pa.nulls(len(table)))
write("empty", empty.append_column("Flag", pa.array([row % 3 == 0 for row in rows])), use_dictionary=False)
write(
    "flags",
    empty.append_column("Flag", pa.array([row % 3 == 0 for row in rows])),
    data_page_version="2.0",
    column_encoding={"Flag": "RLE"},
    use_dictionary=False,
)
duckdb.register("day", table)
for codec in ["uncompressed", "snappy", "gzip", "zstd"]:
    for version in ["V1", "V2"]:
        into = folder / f"duckdb-{codec}-{version}.parquet"
        duckdb.execute(f"SET TimeZone = 'UTC'; COPY day TO '{into}' (FORMAT parquet, CODEC '{codec}', PARQUET_VERSION '{version}')")
write("nested", pa.table({"Time": table["Time"], "Pair": pa.array([[1, 2] for _ in rows])}))
write("struct", pa.table({"Time": table["Time"], "Pair": pa.array([{"a": 1} for _ in rows])}))
write("lz4", compression="lz4")
write("brotli", compression="brotli")
