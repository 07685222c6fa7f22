#!/usr/bin/env python3
"""What the service unit must hold so that the daemon comes back by itself, and stays down where only a person helps.

check_unit.py ROOT            one line per fault
check_unit.py --try-faults    checks that each kind of fault is found
"""

import configparser
import re
import sys
from pathlib import Path

LEAST_PAUSE_S = 5


def read(text):
    unit = configparser.ConfigParser(strict=False, interpolation=None)
    unit.optionxform = str
    unit.read_string(text)
    return unit


def faults(text, stays_down):
    unit = read(text)
    service = unit["Service"]
    if unit["Unit"].get("StartLimitIntervalSec") != "0":
        yield "StartLimitIntervalSec=0 is missing from [Unit]: after a few quick failures it would stay down"
    if service.get("Restart") not in ("on-failure", "always"):
        yield "Restart= does not start it again after a failure"
    pause = service.get("RestartSec", "")
    if not pause.isdigit() or int(pause) < LEAST_PAUSE_S:
        yield f"RestartSec= is not a number of {LEAST_PAUSE_S} seconds or more"
    if str(stays_down) not in service.get("RestartPreventExitStatus", "").split():
        yield f"RestartPreventExitStatus= does not hold {stays_down}, with which it leaves on settings with faults"


def stays_down_code(root):
    header = (root / "daemon" / "app" / "daemon.hpp").read_text()
    return int(re.search(r"kWrongSettings\s*=\s*(\d+)", header).group(1))


def try_faults():
    good = ("[Unit]\nStartLimitIntervalSec=0\n[Service]\nRestart=on-failure\nRestartSec=5\n"
            "RestartPreventExitStatus=78\n")
    assert not list(faults(good, 78))
    for old, new in (("StartLimitIntervalSec=0\n", ""), ("IntervalSec=0", "IntervalSec=10"), ("on-failure", "no"),
                     ("RestartSec=5", "RestartSec=2"), ("RestartSec=5\n", ""), ("Status=78", "Status=75")):
        assert len(list(faults(good.replace(old, new), 78))) == 1, (old, new)
    return 0


def main():
    if sys.argv[1:] == ["--try-faults"]:
        return try_faults()
    root = Path(sys.argv[1])
    found = list(faults((root / "config" / "systemd" / "setwelld.service").read_text(), stays_down_code(root)))
    print("\n".join(found) or "The unit comes back by itself.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
