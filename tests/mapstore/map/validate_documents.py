"""Validates map documents against map_schema.json (JSON Schema 2020-12).

validate_documents.py SCHEMA GOOD_DIR BAD_DIR: every *.json of GOOD_DIR must pass and every *.json of BAD_DIR must fail. Exit code 0, 1 (named on standard output), or 77 where jsonschema is absent.
"""
import glob
import json
import sys

try:
    import jsonschema
    validator_class = jsonschema.Draft202012Validator
except (ImportError, AttributeError):
    print("python3-jsonschema with JSON Schema 2020-12 is not installed")
    sys.exit(77)

schema_file, good_dir, bad_dir = sys.argv[1:]
with open(schema_file, encoding="utf-8") as f:
    schema = json.load(f)
validator_class.check_schema(schema)
validator = validator_class(schema)
wrong, counts = 0, []
for folder, must_pass in ((good_dir, True), (bad_dir, False)):
    files = sorted(glob.glob(folder + "/*.json"))
    counts.append(len(files))
    for name in files:
        with open(name, encoding="utf-8") as f:
            errors = list(validator.iter_errors(json.load(f)))
        if must_pass and errors:
            print(f"{name}: {errors[0].json_path}: {errors[0].message[:200]}")
        if not must_pass and not errors:
            print(f"{name}: passes, but must not")
        wrong += bool(errors) == must_pass
print(f"{counts[0]} good and {counts[1]} bad documents checked, {wrong} wrong")
sys.exit(1 if wrong or 0 in counts else 0)
