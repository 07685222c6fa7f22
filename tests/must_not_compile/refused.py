#!/usr/bin/env python3
"""Compiles one file without making anything of it.

refused.py refuse|accept FILE COMPILER OPTION…

`refuse`: the compiler must refuse the file for the reason in its first line, `// expect: PATTERN`. A file that is
refused for another reason (a header that moved) is a fault too. `accept`: it must compile.
"""

import os
import pathlib
import re
import subprocess
import sys


def main():
    wanted, name, *command = sys.argv[1:]
    path = pathlib.Path(name)
    run = subprocess.run(command + ['-fsyntax-only', '-Wall', '-Werror', str(path)], capture_output=True, text=True,
                         env=dict(os.environ, LC_ALL='C'))
    if wanted == 'accept':
        print(run.stderr)
        return run.returncode
    expected = re.fullmatch(r'// expect: (.+)', path.read_text(encoding='utf-8').splitlines()[0])[1]
    errors = [line for line in run.stderr.splitlines() if 'error:' in line]
    if run.returncode == 0:
        print(f'{path.name} compiles and must not')
    elif not errors or not all(re.search(expected, line) for line in errors):
        print(f'{path.name} is refused, but not for "{expected}":\n' + '\n'.join(errors))
    else:
        return 0
    return 1


if __name__ == '__main__':
    sys.exit(main())
