"""Compares what deltalake, Polars, DuckDB, PyArrow and GeoPandas read in an archive with what was written, cell by cell."""

import datetime
import json
import os
import pathlib
import sys

import deltalake
import duckdb
import geopandas
import pandas
import polars
import pyarrow.parquet

expected = json.loads(pathlib.Path(sys.argv[1]).read_text())
root = pathlib.Path(expected["root"])


def plain(value):
    """Returns a cell as JSON would hold it: instants as microseconds, days as text."""
    if isinstance(value, datetime.datetime):
        if value.tzinfo is None:
            value = value.replace(tzinfo=datetime.timezone.utc)
        epoch = datetime.datetime(1970, 1, 1, tzinfo=datetime.timezone.utc)
        return (value - epoch) // datetime.timedelta(microseconds=1)
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, (bytes, bytearray)):
        return value.hex()
    return value


def key(row):
    return json.dumps([row.get(k) for k in ("season", "document", "observation", "position")])


def compare(reader, table, rows):
    wanted = sorted(expected["tables"][table], key=key)
    columns = list(wanted[0])
    got = sorted(({c: plain(r[c]) for c in columns} for r in rows), key=key)
    assert len(got) == len(wanted), f"{reader}, {table}: {len(got)} rows instead of {len(wanted)}"
    for have, want in zip(got, wanted):
        assert have == want, f"{reader}, {table}:\n got  {have}\n want {want}"
    print(f"ok {reader} {table} {len(got)} rows")


duck = duckdb.connect()
duck.execute("set timezone = 'UTC'")
for table in expected["tables"]:
    files = expected["files"][table]
    delta = deltalake.DeltaTable(str(root / table))
    assert sorted(p.rsplit("/", 1)[1] for p in delta.file_uris()) == sorted(p.rsplit("/", 1)[1] for p in files)
    compare("deltalake", table, delta.to_pyarrow_table().to_pylist())
    compare("polars delta", table, polars.scan_delta(str(root / table)).collect().to_dicts())
    compare("polars files", table, polars.read_parquet(files).to_dicts())
    compare("pyarrow", table, [r for f in files for r in pyarrow.parquet.ParquetFile(f).read().to_pylist()])

    def from_duckdb(paths):
        columns = list(expected["tables"][table][0])
        names = ", ".join(f'epoch_us("{c}") as "{c}"' if c == "time" else f'"{c}"' for c in columns)
        found = duck.execute(f"select {names} from read_parquet($1)", [paths])
        return [dict(zip(columns, row)) for row in found.fetchall()]

    compare("duckdb", table, from_duckdb(files))
    if expected["glob"]:
        glob = str(root / table / "**" / "*.parquet")
        compare("duckdb glob", table, from_duckdb(glob))
        compare("polars glob", table, polars.read_parquet(glob).to_dicts())

# A filter on the partition column, which the readers take from the log, agrees with the column in the files.
seasons = {r["season"] for r in expected["tables"]["stand_count"]}
for season in seasons:
    wanted = sum(r["season"] == season for r in expected["tables"]["stand_count"])
    found = polars.scan_delta(str(root / "stand_count")).filter(polars.col("season") == season).collect().height
    assert found == wanted, f"season {season}: {found} rows instead of {wanted}"
    found = deltalake.DeltaTable(str(root / "stand_count")).to_pyarrow_table(filters=[("season", "==", season)]).num_rows
    assert found == wanted, f"season {season}: {found} rows instead of {wanted}"

# GeoPandas finds the boundaries by the metadata in the footers, on WGS 84, and they are the shapes that were drawn.
shapes = {shape["document"]: shape for shape in expected["shapes"]}
drawn = pandas.concat([geopandas.read_parquet(file) for file in expected["files"]["field"]])
assert drawn.crs.to_string() in ("OGC:CRS84", "EPSG:4326"), drawn.crs
assert drawn.geometry.name == "boundary" and drawn.geometry.is_valid.all() and len(drawn) == len(shapes)
for row in drawn.itertuples():
    shape = shapes[row.document]
    parts = list(getattr(row.boundary, "geoms", [row.boundary]))
    assert len(parts) == shape["polygons"] and sum(len(part.interiors) for part in parts) == shape["holes"], row
    assert all(part.exterior.is_ccw and not any(hole.is_ccw for hole in part.interiors) for part in parts), row
    assert all(abs(a - b) < 1e-9 for a, b in zip(row.boundary.bounds, shape["bounds"])), row
    assert abs(row.boundary.area - shape["area"]) < 1e-12, row
for file in expected["files"]["field"]:
    geo = json.loads(pyarrow.parquet.read_metadata(file).metadata[b"geo"])
    bounds = geopandas.read_parquet(file).total_bounds
    assert geo["version"] == "1.1.0" and geo["primary_column"] == "boundary"
    assert all(abs(a - b) < 1e-9 for a, b in zip(geo["columns"]["boundary"]["bbox"], bounds)), geo
    assert set(geo["columns"]["boundary"]["geometry_types"]) == set(geopandas.read_parquet(file).geom_type), geo
print(f"ok geopandas field {len(drawn)} boundaries")

# Units and meanings reach whoever reads Arrow's field metadata.
schema = pyarrow.parquet.read_schema(expected["files"]["stand_count"][0])
assert schema.field("row_width_in").metadata[b"unit"] == b"[in_i]"
footer = pyarrow.parquet.read_metadata(expected["files"]["stand_count"][0]).metadata
assert footer[b"ligule.schema"] == b"stand_count" and b"ligule.units" in footer

# Some of these libraries end their threads badly at exit ("terminate called without an active exception"); every
# comparison is done by now, and a failed one has left with an error before.
sys.stdout.flush()
os._exit(0)
