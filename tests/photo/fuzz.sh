#!/usr/bin/env bash
# Coverage-guided: libFuzzer makes up picture files for so many minutes, from sound ones that mutate.py makes and from
# fuzz/corpus (what it kept of earlier runs, and what broke the reader once). Takes a C++ compiler; stable Rust is enough.
#
#     tests/photo/fuzz.sh MINUTES [FOLDER_FOR_ALL_IT_FINDS]
set -euo pipefail
cd "$(dirname "$0")"
minutes="${1:-10}"
found="${2:-$(mktemp -d)}"
# What libFuzzer needs to see which code an input reached (as cargo-fuzz passes it), without the sanitisers, which
# take a nightly compiler.
export RUSTFLAGS="-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
-Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
-Cllvm-args=-sanitizer-coverage-trace-compares -Clink-dead-code --cfg fuzzing"
export CARGO_TARGET_DIR="${CARGO_TARGET_DIR:-../../target}/fuzz"
cargo build --quiet --release --manifest-path fuzz/Cargo.toml --target "$(rustc -vV | sed -n 's/^host: //p')"
binary="$(ls "$CARGO_TARGET_DIR"/*/release/photo-fuzz)"
mkdir -p "$found"
../../.venv/bin/python mutate.py --seeds-into "$found"
# One input may take 30 s and 500 MB, and is at most 40 kB long. The first folder gets what is found.
"$binary" -max_total_time=$((minutes * 60)) -timeout=30 -rss_limit_mb=500 -max_len=40000 -len_control=0 \
  -artifact_prefix=fuzz/corpus/broke- -print_final_stats=1 "$found" fuzz/corpus 2>&1 | grep -v '^#[0-9]*[[:space:]]*\(NEW\|REDUCE\|pulse\)'
