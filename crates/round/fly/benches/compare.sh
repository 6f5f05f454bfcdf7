#!/bin/sh
# Reads the same 200 MB file with this crate and with the Python readers that are installed, in one run, and prints
# the ratio to the fastest of them.
#
#   PYTHON=/path/to/python crates/round/fly/benches/compare.sh [MEGABYTES]
#
# The Python should have polars and pyarrow: python3 -m venv /tmp/readers && /tmp/readers/bin/pip install polars pyarrow
set -eu
here=$(cd "$(dirname "$0")" && pwd)
python=${PYTHON:-python3}
megabytes=${1:-200}
file=$(mktemp "${TMPDIR:-/tmp}/read_speed.XXXXXX")
trap 'rm -f "$file"' EXIT
"$python" "$here/read_python.py" make "$file" "$megabytes"
cargo build -q --release -p fly --example read_speed --manifest-path "$here/../Cargo.toml"
target=$(cargo metadata --format-version 1 --no-deps --manifest-path "$here/../Cargo.toml" |
    sed 's/.*"target_directory":"\([^"]*\)".*/\1/')
echo "MB/s, 40 columns of numbers, $megabytes MB, $(nproc) processors:"
others=$("$python" "$here/read_python.py" read "$file")
ours=$("$target/release/examples/read_speed" "$file")
echo "fly $ours"
echo "$others"
echo "$others" | awk -v ours="$ours" '
    $3 > best { best = $3; name = $1 }
    END {
        if (best == 0) { print "no Python reader is installed"; exit 1 }
        printf "ratio to the fastest (%s): %.2f\n", name, ours / best
    }'
