#!/usr/bin/env python3
"""Holds daemon/api/schema/ against the structs that travel.

check_schemas.py PROGRAM ROOT            the files are what PROGRAM (setwell_schemas) prints; every request and
                                         answer of daemon/api/messages has one
check_schemas.py PROGRAM ROOT --write    writes the files anew
check_schemas.py PROGRAM ROOT --valid    each is a JSON Schema by its own dialect's rules; 77 without jsonschema
"""

import json
import pathlib
import re
import subprocess
import sys


def file_of(struct):
    return re.sub(r'(?<!^)([A-Z])', r'_\1', struct).lower() + '.json'


def printed(program):
    text = subprocess.run([program], check=True, capture_output=True, text=True).stdout
    return {file_of(name): json.dumps(schema, indent=2) + '\n' for name, schema in json.loads(text).items()}


def travelling(root):
    """The files that the structs of the messages ask for."""
    texts = [path.read_text(encoding='utf-8') for path in (root / 'daemon/api/messages').glob('*.hpp')]
    structs = {name for text in texts for name in re.findall(r'^struct (\w+(?:Answer|Params)) ', text, re.MULTILINE)}
    return {file_of(name) for name in structs}


def write(folder, schemas):
    for path in folder.glob('*.json'):
        path.unlink()
    for name, text in schemas.items():
        (folder / name).write_text(text, encoding='utf-8')
    return []


def compare(root, folder, schemas):
    stored = {path.name: path.read_text(encoding='utf-8') for path in folder.glob('*.json')}
    faults = [f'{name}: no struct prints it any more' for name in sorted(stored.keys() - schemas.keys())]
    faults += [f'{name}: its struct is not in schemas.cpp' for name in sorted(travelling(root) - schemas.keys())]
    faults += [f'{name}: not as its struct is now (check_schemas.py PROGRAM ROOT --write)'
               for name, text in sorted(schemas.items()) if stored.get(name) != text]
    return faults


def validate(schemas):
    try:
        from jsonschema import Draft202012Validator
        from jsonschema.exceptions import SchemaError
    except ImportError:
        print('skipped: there is no jsonschema')
        sys.exit(77)
    faults = []
    for name, text in schemas.items():
        try:
            Draft202012Validator.check_schema(json.loads(text))
        except SchemaError as wrong:
            faults.append(f'{name}: {wrong.message}')
    return faults


def main():
    program, root, *word = sys.argv[1:]
    folder = pathlib.Path(root) / 'daemon/api/schema'
    schemas = printed(program)
    if word == ['--write']:
        faults = write(folder, schemas)
    elif word == ['--valid']:
        faults = validate(schemas)
    else:
        faults = compare(pathlib.Path(root), folder, schemas)
    for fault in faults:
        print(fault)
    print(f'{len(schemas)} schemas, {len(faults)} faults')
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main())
