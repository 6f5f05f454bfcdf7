"""Do other readers read what was written? Compares table.parquet with table.csv of a folder, value by value.

    python3 read_back.py FOLDER      with pyarrow and polars installed
"""

import math
import sys
from pathlib import Path

import polars
import pyarrow
import pyarrow.parquet


def main(folder):
    text = polars.read_csv(folder / "table.csv", infer_schema_length=None)
    for name, version, table in (
        ("polars", polars.__version__, polars.read_parquet(folder / "table.parquet")),
        (
            "pyarrow",
            pyarrow.__version__,
            polars.from_arrow(pyarrow.parquet.read_table(folder / "table.parquet")),
        ),
    ):
        assert table.columns == text.columns, (table.columns, text.columns)
        assert table.height == text.height
        worst = 0.0
        for column in table.columns:
            for a, b in zip(table[column], text[column], strict=True):
                if a is None or math.isnan(a):
                    assert b is None, (column, a, b)
                else:
                    worst = max(worst, abs(a - float(b)))
        # Times are written to the nanosecond in text, values to the last bit.
        assert worst < 1e-9, worst
        print(f"{name} {version}: {table.height} rows, {len(table.columns)} columns, equal to {worst:.1e}")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]))
