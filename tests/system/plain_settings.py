"""What the settings of every workshop in these tests begin with: a broker on this machine, and the bench."""

import socket

HEAD = """
[workshop]
waking = "00:00-00:00"
quiet = "00:00-00:00"
{workshop}
[broker]
host = "127.0.0.1"
port = {port}
[[zone]]
id = "bench"
kind = "room"
"""


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def head(port, workshop=""):
    return HEAD.format(port=port, workshop=workshop)
