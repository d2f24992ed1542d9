"""What the desk does when it is built with `object-store` and `parquet`, seen by others.

pyarrow reads the tables that were written by columns, and has to find what is in
those as CSV; two books exchange files through a store of moto, other people's stand-in
for S3, which also joins files that come in parts. Run by tests/long:

    on_demand.py PROGRAM
"""

import csv
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import boto3
import pyarrow as pa
import pyarrow.parquet as pq
from moto.server import ThreadedMotoServer

PROGRAM = Path(sys.argv[1]).resolve()
LOG = "session,day,toe_mm,high_mm\n" + "".join(
    f"Monday,2026-05-01,{n % 30},{n % 7}.5\n" for n in range(200)
)


def run(folder, *words, **more):
    env = {**os.environ, "CHALKFACE_NOW": "2026-05-04T18:00:00+02:00", **more}
    done = subprocess.run([PROGRAM, *words, "--json"], cwd=folder, env=env, capture_output=True, check=False)
    assert done.returncode == 0, (words, done.stderr.decode())
    return json.loads(done.stdout)


def books(folder):
    """A student's book with 200 balls, and a coach's that knows the student."""
    run(folder, "book", "new", "--role", "student", "--name", "Ina Holt", "--book", "ina.book")
    run(folder, "student", "add", "Ina Holt", "--hand", "left", "--book", "ina.book")
    run(folder, "book", "new", "--role", "coach", "--name", "Bo Berg", "--book", "bo.book")
    for one, other in (("ina.book", "bo.book"), ("bo.book", "ina.book")):
        run(folder, "meet", run(folder, "card", "--book", one)["card"], "--book", other)
    run(folder, "send", "Ina Holt", "--to", "Bo Berg", "--out", "first.chalk", "--book", "ina.book")
    run(folder, "receive", "first.chalk", "--book", "bo.book")
    (folder / "log.csv").write_text(LOG)
    run(folder, "record", "shots", "log.csv", "--book", "ina.book")


def as_csv(value):
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return str(value)


def columns_hold_what_tables_hold(folder):
    run(folder, "export", "--tables", "tables", "--parquet", "columns", "--book", "ina.book")
    rows = 0
    for path in sorted((folder / "tables").glob("*.csv")):
        with path.open(newline="") as file:
            expected = list(csv.reader(file))
        table = pq.read_table(folder / "columns" / f"{path.stem}.parquet")
        for at, field in enumerate(table.schema):
            if pa.types.is_timestamp(field.type):
                assert field.type == pa.timestamp("ms", tz="UTC"), field
                table = table.set_column(at, field.name, table.column(at).cast(pa.int64()))
        found = [table.column_names]
        found += [[as_csv(row[name]) for name in table.column_names] for row in table.to_pylist()]
        assert found == expected, path
        rows += table.num_rows
    assert rows > 200, rows
    print(f"pyarrow {pa.__version__} reads {rows} rows as CSV has them")


def books_agree_through_a_store(folder):
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0)
    server.start()
    try:
        host, port = server.get_host_and_port()
        store = {
            "AWS_ACCESS_KEY_ID": "invented",
            "AWS_SECRET_ACCESS_KEY": "invented",
            "AWS_REGION": "us-east-1",
            "AWS_ENDPOINT_URL": f"http://{host}:{port}",
            "AWS_ALLOW_HTTP": "true",
        }
        make_bucket(store["AWS_ENDPOINT_URL"])
        look = lambda book: run(folder, "watch", "s3://club/golf", "--once", "--book", book, **store)
        look("ina.book")
        taken = look("bo.book")["taken_in"]
        assert sum(file["taken"] for file in taken) > 200, taken
        assert look("ina.book")["refused"] == []
        digest = lambda book: run(folder, "book", "check", "--book", book)["strands"][0]["digest"]
        assert digest("ina.book") == digest("bo.book")
    finally:
        server.stop()
    print("two books agree through moto's store")


def make_bucket(endpoint):
    boto3.client(
        "s3",
        endpoint_url=endpoint,
        region_name="us-east-1",
        aws_access_key_id="invented",
        aws_secret_access_key="invented",
    ).create_bucket(Bucket="club")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        books(Path(name))
        columns_hold_what_tables_hold(Path(name))
        books_agree_through_a_store(Path(name))
