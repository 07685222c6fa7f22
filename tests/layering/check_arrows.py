#!/usr/bin/env python3
"""Holds every #include of daemon/, sensors/ and cli/ against arrows.txt; prints one line per fault.

check_arrows.py ROOT              checks the tree
check_arrows.py --try-faults      checks that each kind of fault, made in a small tree of its own, is found
"""

import pathlib
import re
import sys
import tempfile

INCLUDE = re.compile(r'^[ \t]*#[ \t]*include[ \t]*([<"])([^>"\n]+)[>"]', re.MULTILINE)
COMMENT = re.compile(r'//[^\n]*|/\*.*?\*/', re.DOTALL)
IMPURE_HEADERS = {
    'thread', 'mutex', 'shared_mutex', 'condition_variable', 'future', 'semaphore', 'stop_token', 'atomic',
    'fstream', 'filesystem', 'iostream', 'csignal', 'ctime', 'time.h', 'random', 'clocale',
    'locale', 'syncstream',
}
# std::random_device asks the machine; <random> as a whole is kept out so that every run is told its seed.
IMPURE_WORDS = re.compile(
    r'\b(?:system|steady|high_resolution|file|utc)_clock::now\b|\b(?:std::)?getenv\b|\bstd::(?:cout|cerr|clog|cin)\b'
    r'|\bthread_local\b|\brandom_device\b|\bsetlocale\b')
SYSTEM = re.compile(r'^(?:sys|netinet|arpa|net|linux)/|^[a-z]+\.h$')


class Table:
    """The sections of arrows.txt."""

    def __init__(self, text):
        self.arrows, self.homes, self.pure, self.alone, self.most = {}, {}, [], [], []
        section = ''
        for line in text.splitlines():
            line = line.split('#')[0].strip()
            if not line:
                continue
            if line.startswith('['):
                section = line.strip('[]')
            elif section == 'pure':
                self.pure.append(line)
            elif section == 'alone':
                self.alone.append(line)
            elif section == 'at most':
                count, *headers = line.split()
                self.most.append((int(count), tuple(headers)))
            else:
                left, right = line.split('->')
                {'arrows': self.arrows, 'homes': self.homes}[section][left.strip()] = right.split()


def under(path, place):
    """Whether a file is the place, lies in it, or is one of the place's files (`sensors/room/main` is main.cpp)."""
    return path == place or path.startswith(place + '/') or path.startswith(place + '.')


def longest(path, places):
    fitting = [place for place in places if under(path, place)]
    return max(fitting, key=len, default=None)


def folder(path):
    return '/'.join(path.split('/')[:2])


def is_pure(path, table):
    return any(under(path, place) for place in table.pure)


def own_fault(path, header, root, table):
    if header.startswith('tests/'):
        return f'{path} includes {header}: nothing includes tests'
    if not (root / header).is_file():
        # Made by the build; its folder's own business.
        return None if '/' not in header else f'{path} includes {header}: not spelled from the root, or not there'
    if is_pure(path, table) and not is_pure(header, table):
        return f'{path} includes {header}: what is pure includes only what is pure'
    if folder(path) == folder(header):
        return None
    place = longest(path, table.arrows)
    if place is None:
        return f'{path}: its folder is not in arrows.txt'
    if not any(under(header, allowed) for allowed in table.arrows[place]):
        return f'{path} includes {header}: there is no arrow from {place} to {folder(header)}'
    return None


def foreign_fault(path, header, table):
    if is_pure(path, table) and (header in IMPURE_HEADERS or SYSTEM.match(header)):
        return f'{path} includes <{header}>: not in pure code'
    fitting = [beginning for beginning in table.homes if header.startswith(beginning)]
    if not fitting:
        known = '/' not in header or SYSTEM.match(header)
        return None if known else f'{path} includes <{header}>: it has no home in arrows.txt'
    homes = table.homes[max(fitting, key=len)]
    if '*' in homes or any(under(path, home) for home in homes):
        return None
    return f'{path} includes <{header}>: its home is {", ".join(homes)}'


def file_faults(path, text, root, table):
    for mark, header in INCLUDE.findall(text):
        fault = own_fault(path, header, root, table) if mark == '"' else foreign_fault(path, header, table)
        if fault:
            yield fault
    if is_pure(path, table):
        for word in sorted(set(IMPURE_WORDS.findall(COMMENT.sub('', text)))):
            yield f'{path} uses {word}: not in pure code'


def sources(root):
    for top in ('sensors', 'daemon', 'cli'):
        for path in sorted((root / top).rglob('*')):
            if path.suffix in ('.hpp', '.cpp', '.inc', '.h') and path.is_file():
                yield path.relative_to(root).as_posix(), path.read_text(encoding='utf-8')


def alone_faults(root, table):
    for place in table.alone:
        files = [path for path in sorted((root / place).parent.glob('*'))
                 if path.is_file() and under(path.relative_to(root).as_posix(), place)]
        for path in files:
            name = path.relative_to(root).as_posix()
            for mark, header in INCLUDE.findall(path.read_text(encoding='utf-8')):
                own = under(header, place) if mark == '"' else '/' not in header
                if not own:
                    yield f'{name} includes {header}: it stands alone'


def count_faults(texts, table):
    for most, beginnings in table.most:
        users = [path for path, text in texts.items()
                 if any(header.startswith(beginnings) for _, header in INCLUDE.findall(text))]
        if len(users) > most:
            yield f'{len(users)} files include {beginnings[0]} and its kind, {most} may: {" ".join(users)}'


def check(root, table):
    texts = dict(sources(root))
    faults = [fault for path, text in texts.items() for fault in file_faults(path, text, root, table)]
    if not texts:
        faults.append(f'no sources under {root}')
    return faults + list(alone_faults(root, table)) + list(count_faults(texts, table)), len(texts)


FAULTY = [
    ('sensors/air/a.hpp', '#include "daemon/core/a.hpp"', 'no arrow|only what is pure'),
    ('daemon/core/b.cpp', '#include "daemon/ledger/a.hpp"', 'only what is pure'),
    ('daemon/rpc/b.cpp', '#include "daemon/ledger/a.hpp"', 'no arrow from daemon/rpc'),
    ('daemon/rpc/b.cpp', '#include "tests/a.hpp"', 'nothing includes tests'),
    ('daemon/rpc/b.cpp', '#include "core/a.hpp"', 'not spelled from the root'),
    ('daemon/elsewhere/b.cpp', '#include "daemon/core/a.hpp"', 'not in arrows.txt'),
    ('daemon/core/b.cpp', '#include <fstream>', 'not in pure code'),
    ('daemon/core/b.cpp', '#include <sys/socket.h>', 'not in pure code'),
    ('daemon/core/b.cpp', 'auto t = std::chrono::system_clock::now();', 'not in pure code'),
    ('daemon/rpc/b.cpp', '#include <sqlite3.h>', 'its home is daemon/ledger'),
    ('daemon/core/b.cpp', '#include <mqtt/async_client.h>', 'its home is'),
    ('sensors/room/generator.cpp', '#include <mqtt/async_client.h>', 'its home is'),
    ('daemon/rpc/b.cpp', '#include <strange/a.hpp>', 'no home'),
    ('tests/shops/truth.cpp', '#include "daemon/core/a.hpp"', 'stands alone'),
    ('tests/shops/truth.hpp', '#include <fmt/core.h>', 'stands alone'),
    ('daemon/rpc/many', '#include <boost/asio/awaitable.hpp>', '13 files'),
]
FAULTLESS = [
    ('tests/shops/truth.cpp', '#include "tests/shops/truth.hpp"\n#include <cmath>'),
    ('daemon/rpc/b.cpp', '#include "daemon/core/a.hpp"\n#include <thread>\n#include <unistd.h>'),
    ('daemon/core/b.cpp', '#include "sensors/quantity/a.hpp"\n#include "daemon/core/a.hpp"\n#include <fmt/core.h>'),
    ('daemon/core/b.cpp', '// system_clock::now is for others\n#include <chrono>'),
]


def tried(path, text, table):
    with tempfile.TemporaryDirectory() as name:
        root = pathlib.Path(name)
        headers = ['daemon/core/a.hpp', 'daemon/ledger/a.hpp', 'sensors/quantity/a.hpp', 'tests/a.hpp']
        written = [(header, '') for header in headers]
        written += [(f'{path}{n}.cpp', text) for n in range(13)] if path.endswith('many') else [(path, text)]
        for file, content in written:
            (root / file).parent.mkdir(parents=True, exist_ok=True)
            (root / file).write_text(content)
        return check(root, table)[0]


def try_faults(table):
    missed = []
    for path, text, expected in FAULTY:
        faults = tried(path, text, table)
        if len(faults) != 1 or not re.search(expected, faults[0]):
            missed.append(f'{path}: {text}: expected one fault "{expected}", found {faults}')
    for path, text in FAULTLESS:
        faults = tried(path, text, table)
        if faults:
            missed.append(f'{path}: nothing is wrong with it, found {faults}')
    return missed, len(FAULTY) + len(FAULTLESS)


def main():
    table = Table(pathlib.Path(__file__).with_name('arrows.txt').read_text(encoding='utf-8'))
    trying = sys.argv[1] == '--try-faults'
    faults, count = try_faults(table) if trying else check(pathlib.Path(sys.argv[1]), table)
    for fault in faults:
        print(fault)
    print(f'{count} {"small trees" if trying else "files"}, {len(faults)} faults')
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main())
