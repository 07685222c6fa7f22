#!/usr/bin/env python3
"""The pure archives may not want anything that does I/O: reads their undefined symbols.

check_symbols.py [--nm NM] ARCHIVE…     one line per fault; 77 when there is no nm
check_symbols.py --try-faults           checks that the names meant are recognised
"""

import re
import shutil
import subprocess
import sys

C_NAMES = (
    'open open64 openat openat64 creat fopen fopen64 freopen fdopen popen read write unlink rename mkdir stat lstat '
    'socket connect bind listen accept send recv sendto recvfrom poll select epoll_create epoll_create1 '
    'clock_gettime gettimeofday time localtime localtime_r gmtime mktime nanosleep usleep sleep '
    'getenv secure_getenv setenv putenv setlocale '
    'pthread_create fork vfork execve execvp posix_spawn posix_spawnp system kill '
    'printf puts putchar perror syslog').split()
UNWANTED = re.compile(
    r'^(?:' + '|'.join(C_NAMES) + r')(?:@.*)?$'
    r'|^std::chrono::_V2::(?:system|steady)_clock::now\(\)'
    r'|^std::(?:cout|cerr|clog|cin)\b|^std::random_device::|^std::filesystem::|^std::thread::|^std::basic_filebuf<'
    r'|^std::basic_[io]?fstream<|^std::locale::global'
    r'|^sqlite3_|^SQLite::|^spdlog::|^mqtt::|^MQTT|^boost::asio::|^curl_|^CLI::')


def unwanted(names):
    return [name for name in names if UNWANTED.match(name)]


def undefined(nm, archive):
    """Symbols wanted by the archive's objects, with the object each is wanted by."""
    text = subprocess.run([nm, '-C', '--undefined-only', archive], check=True, capture_output=True, text=True).stdout
    wanted, member = {}, ''
    for line in text.splitlines():
        if line.endswith(':'):
            member = line[:-1]
        elif line.strip().startswith(('U ', 'w ')):
            wanted.setdefault(line.strip()[2:], member)
    return wanted


def try_faults():
    must = ['open', 'fopen64', 'socket', 'clock_gettime', 'getenv', 'sqlite3_step', 'pthread_create',
            'std::chrono::_V2::system_clock::now()', 'std::chrono::_V2::steady_clock::now()', 'std::cout',
            'spdlog::default_logger_raw()', 'std::filesystem::status(std::filesystem::__cxx11::path const&)']
    may = ['memcpy', 'exp', 'setwell::core::open(int)', 'setwell::core::time(int)', 'operator new(unsigned long)',
           'boost::json::value::~value()', 'fmt::v9::vformat[abi:cxx11]()', 'setwell::core::read(double)']
    faults = [f'{name} was not recognised' for name in must if not unwanted([name])]
    faults += [f'{name} is nothing to refuse' for name in unwanted(may)]
    return faults, len(must) + len(may)


def check(nm, archives):
    faults, count = [], 0
    for archive in archives:
        wanted = undefined(nm, archive)
        count += len(wanted)
        if not wanted:
            faults.append(f'{archive}: wants nothing at all, so it was not read')
        faults += [f'{archive}: {wanted[name]} wants {name}' for name in unwanted(wanted)]
    return faults, count


def main():
    arguments = sys.argv[1:]
    if arguments == ['--try-faults']:
        faults, count = try_faults()
    else:
        nm = 'nm'
        if arguments[:1] == ['--nm']:
            nm, arguments = arguments[1], arguments[2:]
        if not shutil.which(nm):
            print('skipped: there is no nm')
            return 77
        faults, count = check(nm, arguments)
    for fault in faults:
        print(fault)
    print(f'{count} symbols, {len(faults)} faults')
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main())
