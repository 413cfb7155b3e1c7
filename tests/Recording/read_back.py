"""Reads a run's folder with pandas alone, which knows nothing of the program that wrote it, and prints what it found as JSON.

Needs python3-pandas and python3-jsonschema.  Usage: read_back.py RUN_FOLDER [SCHEMA_OF_ACQUIRE]
"""
import hashlib
import json
import pathlib
import sys

import jsonschema
import pandas

run = pathlib.Path(sys.argv[1])
descriptor = json.loads((run / "datapackage.json").read_text(encoding="utf-8"))
found = {}
for resource in descriptor["resources"]:
    path = run / resource["path"]
    table = pandas.read_csv(path, encoding=resource["encoding"], sep=resource["dialect"]["delimiter"])
    data = path.read_bytes()
    found[resource["name"]] = {
        "rows": len(table),
        "columns": list(table.columns),
        "fields": [field["name"] for field in resource["schema"]["fields"]],
        "dtypes": [str(kind) for kind in table.dtypes],
        "empty": [int(n) for n in table.isna().sum()],
        "sums": {c: float(table[c].sum()) for c in table.columns if table[c].dtype.kind in "if"},
        "first": json.loads(table.head(1).to_json(orient="records", double_precision=15)),
        "words": {c: sorted(set(table[c].dropna())) for c in table.columns if table[c].dtype.kind == "O"},
        "sizeHolds": len(data) == resource["bytes"],
        "hashHolds": "sha256:" + hashlib.sha256(data).hexdigest() == resource["hash"],
    }
if len(sys.argv) > 2:
    schema = json.loads(pathlib.Path(sys.argv[2]).read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(schema)
    found["schemaProblems"] = [error.message for error in validator.iter_errors(descriptor["acquire"])]
print(json.dumps(found))
