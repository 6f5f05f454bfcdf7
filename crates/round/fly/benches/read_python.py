"""How fast do the general-purpose Python readers read the same file? Prints one line a reader: name, MB/s.

    python3 read_python.py make FILE.csv MEGABYTES   makes the file: t and c1 to c39, 40 columns of numbers
    python3 read_python.py read FILE.csv             times polars, pyarrow and pandas, whichever are installed

Each reader gets the bytes in memory, all 40 columns as 64-bit floats, and all threads it wants; best of five.
"""

import io
import random
import sys
import time

COLUMNS = 40
TIMES = 5


def make(path, megabytes):
    """Rows of values as recordings have them: three to eight digits, some whole, some negative."""
    rng = random.Random(1)
    left = megabytes * 1_000_000
    with open(path, "w", encoding="ascii") as out:
        out.write("t," + ",".join(f"c{i}" for i in range(1, COLUMNS)) + "\n")
        row = 0
        # A block of rows is made once and repeated with its own times: making is not what is measured.
        block = [
            ",".join(
                f"{rng.gauss(0, 1) * 10 ** (i % 4):.{(i * 7) % 5 + 1}f}"
                for i in range(1, COLUMNS)
            )
            for _ in range(5000)
        ]
        while left > 0:
            line = f"{row * 0.004:.3f},{block[row % len(block)]}\n"
            out.write(line)
            left -= len(line)
            row += 1


def readers():
    found = []
    try:
        import polars

        schema = {"t": polars.Float64} | {f"c{i}": polars.Float64 for i in range(1, COLUMNS)}
        found.append(("polars", polars.__version__, lambda b: polars.read_csv(b, schema=schema)))
    except ImportError:
        pass
    try:
        import pyarrow
        from pyarrow import csv

        types = {"t": pyarrow.float64()} | {f"c{i}": pyarrow.float64() for i in range(1, COLUMNS)}
        options = csv.ConvertOptions(column_types=types)
        found.append(
            ("pyarrow", pyarrow.__version__, lambda b: csv.read_csv(io.BytesIO(b), convert_options=options))
        )
        reader = pyarrow.BufferReader
        found.append(
            ("pyarrow-buffer", pyarrow.__version__, lambda b: csv.read_csv(reader(b), convert_options=options))
        )
    except ImportError:
        pass
    try:
        import pandas

        found.append(("pandas", pandas.__version__, lambda b: pandas.read_csv(io.BytesIO(b), engine="c")))
    except ImportError:
        pass
    return found


def read(path):
    with open(path, "rb") as source:
        data = source.read()
    for name, version, reader in readers():
        best = float("inf")
        for _ in range(TIMES if name != "pandas" else 1):
            start = time.perf_counter()
            table = reader(data)
            best = min(best, time.perf_counter() - start)
            assert table.shape[1] == COLUMNS
            del table
        print(f"{name} {version} {len(data) / 1e6 / best:.1f}")


if __name__ == "__main__":
    if len(sys.argv) == 4 and sys.argv[1] == "make":
        make(sys.argv[2], int(sys.argv[3]))
    elif len(sys.argv) == 3 and sys.argv[1] == "read":
        read(sys.argv[2])
    else:
        sys.exit(__doc__)
