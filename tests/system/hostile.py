# SPDX-License-Identifier: MIT
"""Clients that the simulated bench has to put up with: garbage, half frames, connections by the thousand. Each attack ends
with a sound question that must be answered."""
import os
import random
import select
import socket
import struct
import termios
import tty

from bench_under_test import Line


def address_of(link):
    host, port = link.split("://")[1].split(":")
    return host, int(port)


def ask_known(link):
    """A sound request on a Modbus TCP link: the answer's bytes."""
    with socket.create_connection(address_of(link), timeout=10) as client:
        client.sendall(bytes.fromhex("000700000006010300000001"))
        got = b""
        while len(got) < 9:
            piece = client.recv(64)
            if not piece:
                raise ConnectionError("closed instead of an answer")
            got += piece
    return got


def garbage(address, count, seed):
    """Random bytes on connections of their own; those that end in the middle of a frame are among them."""
    draw = random.Random(seed)
    for _ in range(count):
        with socket.create_connection(address, timeout=10) as client:
            kind = draw.randrange(3)
            if kind == 0:
                data = draw.randbytes(draw.randrange(1, 400))
            elif kind == 1:
                data = bytes.fromhex("0001000000060103")[:draw.randrange(1, 8)]
            else:
                data = b'{"gate": ' * draw.randrange(1, 50) + draw.randbytes(5) + b"\n"
            try:
                client.sendall(data)
            except ConnectionError:
                pass  # closed on us: what garbage deserves


def come_and_go(address, count):
    """Connections opened and dropped, by a reset so that this machine does not run out of ports. Answers how many were refused."""
    refused = 0
    for _ in range(count):
        client = socket.socket()
        try:
            client.connect(address)
            client.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        except OSError:
            refused += 1
        client.close()
    return refused


def garbage_on_line(path, count, seed):
    """Random bytes on a serial line."""
    draw = random.Random(seed)
    line = os.open(path, os.O_RDWR | os.O_NOCTTY)
    tty.setraw(line, termios.TCSANOW)
    for _ in range(count):
        os.write(line, draw.randbytes(draw.randrange(1, 60)))
        while select.select([line], [], [], 0.002)[0]:
            os.read(line, 512)
    os.close(line)


def attack(bench, garbage_count, connections, seed=1):
    """Everything at once on a running SimulatedBench; raises where it stops answering. What was done, in words."""
    links = bench.ready["links"]
    tcp = [link for link in links.values() if link.startswith("modbus-tcp://")]
    sockets = [tuple([bench.ready[name].rsplit(":", 1)[0], int(bench.ready[name].rsplit(":", 1)[1])]) for name in ("hands", "control")]
    refused = 0
    for number, link in enumerate(tcp):
        garbage(address_of(link), garbage_count, seed + number)
        refused += come_and_go(address_of(link), connections)
        ask_known(link)
    for number, address in enumerate(sockets):
        garbage(address, garbage_count, seed + 100 + number)
        refused += come_and_go(address, connections)
    for number, link in enumerate(links.values()):
        if link.startswith(("modbus-rtu:", "text:")):
            garbage_on_line(link.split("://")[1].split("?")[0], garbage_count, seed + 200 + number)
    for link in tcp:
        ask_known(link)
    fresh = Line(bench.ready["control"])
    truth = fresh.ask({"get": "truth"})["truth"]
    answer = fresh.ask({"fault": "shortd-turn"})
    fresh.close()
    if "shorted-turn" not in answer.get("error", ""):
        raise AssertionError("no nearest name for an unknown fault: %s" % answer)
    if truth["energized"] or truth["dangerous_moments"]:
        raise AssertionError("garbage moved the bench: %s" % truth)
    if refused:
        raise AssertionError("%d connections were refused" % refused)
    return "%d pieces of garbage, %d connections opened and dropped, on %d sockets and %d serial lines" % (
        garbage_count * (len(tcp) + 2 + len(links) - len(tcp)), connections * (len(tcp) + 2), len(tcp) + 2, len(links) - len(tcp))


def size_of(process):
    """(resident kilobytes, open descriptors)."""
    with open("/proc/%d/status" % process.pid, encoding="ascii") as file:
        resident = next(int(line.split()[1]) for line in file if line.startswith("VmRSS"))
    return resident, len(os.listdir("/proc/%d/fd" % process.pid))
