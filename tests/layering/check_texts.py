#!/usr/bin/env python3
"""What no file here may hold: notes of unfinished work, files too long to read, blanks at line ends, strays at the top.

check_texts.py ROOT            one line per fault
check_texts.py --try-faults    checks that each kind of fault is found
"""

import pathlib
import re
import sys
import tempfile

# Spelled in pieces, so that this file may be checked too.
UNFINISHED = re.compile(
    r'\b(?:TO' r'DO|FIX' r'ME|XX' r'X)\b|(?i:\bnot implemen' r'ted\b|\bplacehol' r'der\b)')
LONGEST = 500
TOP = {'CMakeLists.txt', 'README.md', 'DEVELOPERS.md', 'daemon', 'sensors', 'cli', 'tests', 'config', 'build'}
KINDS = {'.cpp', '.hpp', '.inc', '.py', '.sh', '.cmake', '.txt', '.md', '.toml', '.sql', '.conf', '.service', '.json',
         '.1', '.5', '.7', '.8'}
# Bytes as they are: broken on purpose, or compared letter by letter.
AS_THEY_ARE = ('tests/data/', 'tests/golden/')


def files(root):
    for path in sorted(root.rglob('*')):
        name = path.relative_to(root).as_posix()
        first = name.split('/')[0]
        hidden = first.startswith('.') or first.startswith('build') or '__pycache__' in name
        if path.is_file() and not hidden and path.suffix in KINDS:
            yield name, path.read_text(encoding='utf-8', errors='replace')


def text_faults(name, text):
    lines = text.splitlines()
    for number, line in enumerate(lines, 1):
        word = UNFINISHED.search(line)
        if word:
            yield f'{name}:{number}: "{word.group()}"'
        if line != line.rstrip() and not name.startswith(AS_THEY_ARE):
            yield f'{name}:{number}: blanks at the end of the line'
    if name.endswith(('.cpp', '.hpp')) and len(lines) > LONGEST:
        yield f'{name}: {len(lines)} lines, {LONGEST} are the most'


def check(root):
    faults = [f'{path.name}: not one of the names at the top' for path in sorted(root.iterdir())
              if not path.name.startswith(('.', 'build')) and path.name not in TOP]
    count = 0
    for name, text in files(root):
        count += 1
        faults += text_faults(name, text)
    if not count:
        faults.append(f'no files under {root}')
    return faults, count


FAULTY = [
    ('daemon/a.cpp', '// TO' 'DO: later\n', 'TO' 'DO'),
    ('daemon/a.cpp', 'throw "not implemen' 'ted";\n', 'not'),
    ('daemon/a.cpp', 'int a; \n', 'blanks'),
    ('daemon/a.hpp', '\n' * 501, '501 lines'),
    ('notes.md', 'a\n', 'at the top'),
]


def try_faults():
    missed = []
    for name, text, expected in FAULTY + [('daemon/a.cpp', 'int a;\n', '')]:
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder) / name
            path.parent.mkdir(exist_ok=True)
            path.write_text(text)
            faults = check(pathlib.Path(folder))[0]
        if len(faults) != (1 if expected else 0) or (expected and expected not in faults[0]):
            missed.append(f'{name}: expected "{expected}", found {faults}')
    return missed, len(FAULTY) + 1


def main():
    faults, count = try_faults() if sys.argv[1] == '--try-faults' else check(pathlib.Path(sys.argv[1]))
    for fault in faults:
        print(fault)
    print(f'{count} files, {len(faults)} faults')
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main())
