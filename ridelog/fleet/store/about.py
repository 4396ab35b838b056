"""What a store holds, in words: STORE.md in the store itself, and the same tables in the documentation."""

from ridelog.fleet.store.columns import TABLES, columns

_TYPES = {"float": "number", "int": "whole number", "bool": "true or false", "str": "text", "datetime": "time, UTC",
          "list": "numbers"}  # fmt: skip
_WHAT = {
    "answers": (
        "One row a ride. `answers/bike=…/month=…/<key>-<version>.parquet`: bike and month are names of folders. Once"
        " merged, the rides of a bike and month share `merged-<digest>.parquet` there, and the same name in the tables"
        " below."
    ),
    "hills": "One row a hill each time that it was ridden. `hills/<key>-<version>.parquet`",
    "events": "One row a braking event. `events/<key>-<version>.parquet`",
    "findings": "One row a finding. `findings/<key>-<version>.parquet`",
}
_HEAD = """# A store of rides, measured by ridelog

Parquet files that pandas, DuckDB, Polars and Spark read. A ride is there if and only if it has a row of answers. What
is not known is null. Of a number with its interval, `_low95` and `_high95` are the bounds of the 95 % interval. Seconds
count from the first sample of the ride.

"""
_SERIES = """## series

One file a ride, `series/<key>-<version>.parquet`: its samples, one column a channel with its unit in its name, as
decimals at the logger's own resolution. `time` is UTC; of a log without wall time, it counts from 1970. Power is
voltage times current where it is not among them.
"""


_QUERIES = """What came back of what was drawn, for each bike, with pandas, DuckDB and Polars, in this folder:

```python
import pandas as pd

rides = pd.read_parquet("answers", columns=["bike", "energy_drawn_wh", "energy_returned_wh"])
sums = rides.groupby("bike", observed=True).sum()
print(100 * sums["energy_returned_wh"] / sums["energy_drawn_wh"])
```

```python
import duckdb

files = "read_parquet('answers/**/*.parquet', hive_partitioning = true)"
share = "100 * sum(energy_returned_wh) / sum(energy_drawn_wh)"
print(duckdb.sql(f"SELECT bike, {share} AS recovered_pct FROM {files} GROUP BY bike ORDER BY bike"))
```

```python
import polars as pl

share = 100 * pl.col("energy_returned_wh").sum() / pl.col("energy_drawn_wh").sum()
rides = pl.scan_parquet("answers/**/*.parquet", hive_partitioning=True)
print(rides.group_by("bike").agg(share.alias("recovered_pct")).sort("bike").collect())
```

"""


def tables_in_words() -> str:
    """The columns of each table with what they hold and their unit."""
    parts = []
    for table in TABLES:
        lines = [f"## {table}", "", _WHAT[table], "", "| column | holds | unit | |", "| --- | --- | --- | --- |"]
        lines += [
            f"| `{each.name}` | {_TYPES[each.kind.__name__]} | {each.unit or ''} | {each.meaning} |"
            for each in columns(table)
        ]
        parts.append("\n".join(lines) + "\n")
    return "\n".join([*parts, _SERIES])


def about() -> str:
    """The text of STORE.md."""
    return _HEAD + _QUERIES + tables_in_words()
