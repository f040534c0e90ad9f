"""The script that somebody would write: front matter by PyYAML's C loader, held against a JSON Schema by one of two libraries.

validate.py jsonschema_rs|jsonschema TREE JOB_SCHEMA SITE_SCHEMA
"""

import json
import re
import sys
from pathlib import Path

import yaml


class Loader(yaml.CSafeLoader):
    """YAML 1.2's words: a day is a text, and only true and false are bool."""


Loader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in rules if tag not in ("tag:yaml.org,2002:timestamp", "tag:yaml.org,2002:bool")]
    for first, rules in yaml.CSafeLoader.yaml_implicit_resolvers.items()
}
Loader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("^(?:true|false)$"), list("tf"))

library, tree, *schemas = sys.argv[1:]
schemas = [json.loads(Path(path).read_text()) for path in schemas]
if library == "jsonschema_rs":
    import jsonschema_rs

    job, site = [jsonschema_rs.Draft202012Validator(schema, validate_formats=True) for schema in schemas]
else:
    import jsonschema

    Validator = jsonschema.Draft202012Validator
    job, site = [Validator(schema, format_checker=Validator.FORMAT_CHECKER) for schema in schemas]

read = bad = 0
for path in sorted(Path(tree, "sites").glob("*/*.md")):
    read += 1
    front = path.read_text(encoding="utf-8")[4:].split("\n---\n", 1)[0]
    faults = list((site if path.name == "site.md" else job).iter_errors(yaml.load(front, Loader=Loader)))
    bad += bool(faults)
    for fault in faults:
        print(f"{path}: {fault.message[:200]}")
print(f"{read} read, {bad} bad")
