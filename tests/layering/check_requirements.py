#!/usr/bin/env python3
"""Holds tests/requirements.md against the sources: every test it names must be there.

check_requirements.py ROOT     one line per fault
check_requirements.py --try-faults   checks that a name that is nowhere is found
"""

import pathlib
import re
import sys
import tempfile

ROW = re.compile(r'^\| ([A-Z]+\d+) \|[^|]*\| (.*) \|$')
NAME = re.compile(r'`([^`]+)`')
CASE = re.compile(r'TEST_CASE\(\s*"((?:[^"\\]|\\.)*)"')
METHOD = re.compile(r'^\s+def (test_\w+)\(', re.MULTILINE)
SCRIPT = re.compile(r'setwell_script_test\("([^"]+)"')


def known(root):
    names = set()
    tests = root / 'tests'
    for path in tests.rglob('*.cpp'):
        names |= {name.replace('\\"', '"') for name in CASE.findall(path.read_text(encoding='utf-8'))}
    for path in (tests / 'system').rglob('*.py'):
        names |= set(METHOD.findall(path.read_text(encoding='utf-8')))
    for path in tests.rglob('CMakeLists.txt'):
        names |= {f'layering: {name}' for name in SCRIPT.findall(path.read_text(encoding='utf-8'))}
    return names


def check(root):
    names = known(root)
    faults, rows = [], 0
    for number, line in enumerate((root / 'tests' / 'requirements.md').read_text(encoding='utf-8').splitlines(), 1):
        row = ROW.match(line)
        if not row:
            continue
        rows += 1
        held = NAME.findall(row.group(2))
        if not held and 'limit:' not in row.group(2):
            faults.append(f'tests/requirements.md:{number}: {row.group(1)} is held by nothing')
        faults += [f'tests/requirements.md:{number}: there is no "{name}"' for name in held
                   if name not in names and not (root / name).is_file() and 'daemon/' not in name]
    if not rows:
        faults.append('tests/requirements.md: no rows')
    return faults


def try_faults():
    with tempfile.TemporaryDirectory() as folder:
        root = pathlib.Path(folder)
        (root / 'tests' / 'system').mkdir(parents=True)
        (root / 'tests' / 'a.cpp').write_text('TEST_CASE("it holds", "[a]") {}\n')
        page = root / 'tests' / 'requirements.md'
        page.write_text('| Q1 | a | `it holds` |\n')
        if check(root):
            return ['a name that is there was not found']
        page.write_text('| Q1 | a | `it does not` |\n| Q2 | b | nothing |\n')
        return [] if len(check(root)) == 2 else ['a missing name, or a row held by nothing, was passed over']


if __name__ == '__main__':
    found = try_faults() if sys.argv[1:] == ['--try-faults'] else check(pathlib.Path(sys.argv[1]))
    print('\n'.join(found) if found else 'every requirement is held by a test that is there')
    sys.exit(1 if found else 0)
