#!/usr/bin/env python3
"""Small faults, one patch each, that some test must see.

run_mutants.py --root ROOT --jobs N [--json] [--only NAME …]
    copies the tree to a folder of its own, applies each patch of tests/mutants/, builds the programs that its head
    line names and runs them. Caught: one of them fails. Before any patch all of them must pass.
run_mutants.py --root ROOT --check
    only says whether each patch still applies, and names a test.

A patch begins with `Seen by: PROGRAM [ARGUMENTS][; PROGRAM …]`, programs as they are called in the build's bin/.
"""

import argparse
import json
import os
import pathlib
import shlex
import shutil
import subprocess
import sys
import tempfile
import time

HEAD = 'Seen by:'
LONGEST_RUN_S = 900
SKIPPED = 77


class Mutant:
    def __init__(self, path):
        self.path, self.name = path, path.stem
        lines = path.read_text(encoding='utf-8').splitlines()
        head = lines[0] if lines else ''
        self.commands = []
        if head.startswith(HEAD):
            self.commands = [shlex.split(part) for part in head[len(HEAD):].split(';') if part.strip()]

    def programs(self):
        return [command[0] for command in self.commands]


def mutants_of(root, only):
    found = [Mutant(path) for path in sorted((root / 'tests' / 'mutants').glob('*.patch'))]
    return [mutant for mutant in found if not only or mutant.name in only]


def apply(root, mutant, *options):
    """What git says against it, or nothing."""
    done = subprocess.run(['git', 'apply', *options, str(mutant.path)], cwd=root, capture_output=True, text=True,
                          check=False, env=dict(os.environ, GIT_CEILING_DIRECTORIES=str(root.parent)))
    return (done.stderr.strip() or 'git apply failed') if done.returncode else ''


def check(root, mutants):
    faults = []
    for mutant in mutants:
        if not mutant.commands:
            faults.append(f'{mutant.name}: its first line does not say by which test it is seen')
        said = apply(root, mutant, '--check')
        if said:
            faults.append(f'{mutant.name}: {said}')
    for fault in faults:
        print(fault)
    print(f'{len(mutants)} mutants, {len(faults)} faults')
    return 1 if faults or not mutants else 0


class Bench:
    """A copy of the tree and its build."""

    def __init__(self, root, jobs):
        self.tree = pathlib.Path(tempfile.mkdtemp(prefix='setwell-mutants-')) / 'tree'
        self.jobs = jobs
        skip = shutil.ignore_patterns('build', 'build-*', '.git', '__pycache__')
        shutil.copytree(root, self.tree, ignore=skip)
        self.build = self.tree / 'build' / 'dev'
        self.env = dict(os.environ, CCACHE_BASEDIR=str(self.tree), CCACHE_NOHASHDIR='1')
        self.log = self.tree.parent / 'build.log'

    def __enter__(self):
        self._say(['cmake', '-S', str(self.tree), '-B', str(self.build), '-G', 'Ninja',
                   '-C', str(self.tree / '.cmake' / 'dev.cmake')])
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.tree.parent, ignore_errors=True)

    def _say(self, command):
        with open(self.log, 'a', encoding='utf-8') as log:
            return subprocess.run(command, stdout=log, stderr=log, env=self.env, check=False).returncode == 0

    def make(self, programs):
        return self._say(['ninja', '-C', str(self.build), '-j', str(self.jobs), *sorted(set(programs))])

    def passes(self, command):
        program = str(self.build / 'bin' / command[0])
        try:
            done = subprocess.run([program, *command[1:]], cwd=self.tree, env=self.env, check=False,
                                  timeout=LONGEST_RUN_S, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        except subprocess.TimeoutExpired:
            return False
        if done.returncode == SKIPPED:
            raise SystemExit(f'{command[0]} has nothing to run on: the mutants it should see cannot be judged')
        return done.returncode == 0


def judge(bench, mutant):
    """caught, survived, or why it could not be judged."""
    said = apply(bench.tree, mutant)
    if said:
        return f'does not apply: {said}'
    try:
        if not bench.make(mutant.programs()):
            return 'does not build'
        return 'survived' if all(bench.passes(command) for command in mutant.commands) else 'caught'
    finally:
        apply(bench.tree, mutant, '-R')


def run(root, mutants, jobs):
    outcome = {}
    with Bench(root, jobs) as bench:
        commands = {tuple(command) for mutant in mutants for command in mutant.commands}
        if not bench.make(command[0] for command in commands):
            print(bench.log.read_text(encoding='utf-8')[-3000:], file=sys.stderr)
            raise SystemExit('the tree does not build without any mutant')
        for command in sorted(commands):
            if not bench.passes(list(command)):
                raise SystemExit(f'{" ".join(command)} fails without any mutant')
        for mutant in mutants:
            begun = time.monotonic()
            outcome[mutant.name] = judge(bench, mutant)
            print(f'{mutant.name}: {outcome[mutant.name]} ({time.monotonic() - begun:.0f} s)', file=sys.stderr,
                  flush=True)
    return outcome


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument('--root', type=pathlib.Path, required=True)
    parser.add_argument('--jobs', type=int, default=2)
    parser.add_argument('--json', action='store_true')
    parser.add_argument('--check', action='store_true')
    parser.add_argument('--only', nargs='*')
    options = parser.parse_args()
    root = options.root.resolve()
    mutants = mutants_of(root, options.only)
    if options.check:
        return check(root, mutants)
    outcome = run(root, mutants, options.jobs)
    caught = sum(1 for said in outcome.values() if said == 'caught')
    survived = [name for name, said in outcome.items() if said != 'caught']
    if options.json:
        print(json.dumps({'mutants': len(mutants), 'caught': caught, 'survived': survived}))
    else:
        print(f'{len(mutants)} mutants, {caught} caught' + (f'; survived: {", ".join(survived)}' if survived else ''))
    return 0 if mutants and not survived else 1


if __name__ == '__main__':
    sys.exit(main())
