# SPDX-License-Identifier: MIT
"""The station as a panel sees it, over its own sockets, with nothing but the standard library."""
import base64
import hashlib
import http.client
import json
import os
import re
import select
import socket
import struct
import subprocess
import time

from bench_under_test import SCALED, SINGLE, SOURCE, STATION


class Answer:
    def __init__(self, status, headers, body):
        self.status, self.headers, self.body = status, headers, body

    def json(self):
        return json.loads(self.body)


class Station:
    """benchward station on a simulated bench, with the accounts of its first start."""

    def __init__(self, bench, records=None, units=None):
        self.records = records or os.path.join(bench.folder, "station-records")
        self.log_file = os.path.join(bench.folder, "station-%d.log" % time.monotonic_ns())
        with open(self.log_file, "w", encoding="utf-8") as log:
            self.process = subprocess.Popen(
                [STATION, "station", "--bench", SCALED, "--records", self.records, "--links", bench.links,
                 "--units", units or os.path.dirname(SINGLE)],
                stdout=subprocess.PIPE, stderr=log, text=True)
        readable, _, _ = select.select([self.process.stdout], [], [], 20)
        line = self.process.stdout.readline() if readable else ""
        if not line:
            self.process.kill()
            self.process.wait()
            self.process.stdout.close()
            raise RuntimeError("the station did not start: " + self.log())
        self.ready = json.loads(line)
        self.port = int(re.search(r":(\d+)/", self.ready["url"]).group(1))
        said = re.search(r'account "supervisor" with the password (\S+)', self.log())
        self.password = said.group(1) if said else None

    def log(self):
        with open(self.log_file, encoding="utf-8") as file:
            return file.read()

    def add_account(self, name, role, password):
        done = subprocess.run([STATION, "station", "--records", self.records, "--add-account", name, "--role", role],
                              input=password + "\n", capture_output=True, text=True, timeout=30, check=False)
        return done.returncode, done.stdout + done.stderr

    def ask(self, method, path, body=None, headers=None, timeout=20):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        try:
            connection.request(method, path, body=body, headers=headers or {})
            answer = connection.getresponse()
            return Answer(answer.status, answer.headers, answer.read().decode("utf-8"))
        finally:
            connection.close()

    def end(self, how=None, seconds=60):
        if how is None:
            self.process.terminate()
        else:
            self.process.send_signal(how)
        code = self.process.wait(timeout=seconds)
        self.process.stdout.close()
        return code

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(timeout=30)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        if not self.process.stdout.closed:
            self.process.stdout.close()


class Panel:
    """One logged-in panel."""

    def __init__(self, station, name="supervisor", password=None):
        self.station = station
        self.types = page_types()
        answer = station.ask("POST", "/api/login",
                             json.dumps({"name": name, "password": password or station.password}))
        if answer.status != 200:
            raise AssertionError("login: %d %s" % (answer.status, answer.body))
        self.me = answer.json()
        self.set_cookie = answer.headers["Set-Cookie"]
        self.cookie = self.set_cookie.split(";")[0]

    def headers(self, **more):
        wanted = {"Cookie": self.cookie, "X-Bench-Token": self.me["csrf"], "Content-Type": "application/json"}
        wanted.update({key.replace("_", "-"): value for key, value in more.items()})
        return wanted

    def act(self, path, body=None):
        return self.station.ask("POST", path, json.dumps(body or {}), self.headers())

    def do(self, path, body=None):
        answer = self.act(path, body)
        if answer.status != 200:
            raise AssertionError("%s: %d %s" % (path, answer.status, answer.body))

    def look(self, path):
        return self.station.ask("GET", path, headers={"Cookie": self.cookie})

    def snapshot(self):
        answer = self.look("/api/snapshot")
        if answer.status != 200:
            raise AssertionError("snapshot: %d %s" % (answer.status, answer.body))
        return answer.json()

    def choose(self, serial):
        self.do("/api/controls/take")
        self.do("/api/unit", {"serial": serial})

    def run(self, until, seconds=150, say=None):
        """Answers every question by its first choice until a snapshot is as wanted; gives that snapshot."""
        end = time.monotonic() + seconds
        asked = []
        while time.monotonic() < end:
            seen = self.snapshot()
            if self.types:
                wrong = misfits(seen, "Snapshot", self.types)
                if wrong:
                    raise AssertionError("the page expects another snapshot: " + "; ".join(wrong[:5]))
            if until(seen):
                return seen, asked
            question = seen["question"]
            if question:
                answer = (say or {}).get(question["id"], (question["choices"] or ["as on the plate"])[0])
                # Between look and answer the question may have been withdrawn: 409 then, and the loop looks again.
                done = self.act("/api/answer", {"number": question["number"], "answer": answer})
                if done.status not in (200, 409):
                    raise AssertionError("answer: %d %s" % (done.status, done.body))
                if done.status == 200:
                    asked.append(question["id"])
            select.select([], [], [], 0.01)
        raise AssertionError("never seen on the panel; last: " + json.dumps(seen)[:3000] + self.station.log()[-2000:])


def page_types():
    """The page's own types (snapshot.ts): interface -> key -> type as text."""
    with open(os.path.join(SOURCE, "firmware_host/panel/web/src/snapshot.ts"), encoding="utf-8") as file:
        text = re.sub(r"//[^\n]*|/\*.*?\*/", "", file.read(), flags=re.S)
    types = {}
    for name, body in re.findall(r"export interface (\w+) \{(.*?)\n\}", text, flags=re.S):
        keys, depth, item = {}, 0, ""
        for c in body:
            depth += (c == "{") - (c == "}")
            if c == ";" and depth == 0:
                key, kind = item.strip().split(":", 1)
                keys[key.strip()] = kind.strip()
                item = ""
            else:
                item += c
        types[name] = keys
    return types


def misfits(value, kind, types, at=""):
    """Where a value is not of a type of the page, in words."""
    kind = kind.strip()
    if kind.startswith("{") and kind.endswith("}"):
        inline = dict(item.split(":", 1) for item in kind[1:-1].split(";") if item.strip())
        return misfits_of_object(value, {k.strip(): v for k, v in inline.items()}, types, at)
    if kind.startswith("{") and kind.endswith("}[]") or kind.endswith("[]"):
        if not isinstance(value, list):
            return ["%s: no list" % at]
        return [w for i, entry in enumerate(value) for w in misfits(entry, kind[:-2], types, "%s/%d" % (at, i))]
    if "|" in kind:
        parts = [part.strip() for part in kind.split("|")]
        return [] if any(not misfits(value, part, types, at) for part in parts) else ["%s: %r is no %s" % (at, value, kind)]
    if kind in types:
        return misfits_of_object(value, types[kind], types, at)
    if kind == "AreaWord":
        kind = "string"
    right = {"string": isinstance(value, str), "boolean": isinstance(value, bool), "null": value is None,
             "number": isinstance(value, (int, float)) and not isinstance(value, bool), "1": value == 1}
    fits = right[kind] if kind in right else kind.strip("'") == value
    return [] if fits else ["%s: %r is no %s" % (at, value, kind)]


def misfits_of_object(value, keys, types, at):
    if not isinstance(value, dict):
        return ["%s: no object" % at]
    wrong = ["%s: the keys differ: %s" % (at, sorted(set(keys) ^ set(value)))] if set(keys) != set(value) else []
    return wrong + [w for key in keys if key in value for w in misfits(value[key], keys[key], types, at + "/" + key)]


class Watcher:
    """A WebSocket client of the events path: RFC 6455, text frames from the server only."""

    def __init__(self, station, cookie="", origin=None, host=None):
        self.socket = socket.create_connection(("127.0.0.1", station.port), timeout=10)
        key = base64.b64encode(os.urandom(16)).decode("ascii")
        here = "127.0.0.1:%d" % station.port
        lines = ["GET %s HTTP/1.1" % station.ready["events"], "Host: " + (host or here), "Upgrade: websocket",
                 "Connection: Upgrade", "Sec-WebSocket-Version: 13", "Sec-WebSocket-Key: " + key,
                 "Origin: " + (origin or "http://" + here)]
        if cookie:
            lines.append("Cookie: " + cookie)
        self.socket.sendall(("\r\n".join(lines) + "\r\n\r\n").encode("ascii"))
        head = b""
        while b"\r\n\r\n" not in head:
            more = self.socket.recv(1)
            if not more:
                break
            head += more
        self.status = int(head.split(b" ")[1]) if head else 0
        wanted = hashlib.sha1((key + "258EAFA5-E914-47DA-95CA-C5AB0DC85B11").encode("ascii")).digest()
        self.proved = base64.b64encode(wanted) in head

    def exactly(self, count):
        data = b""
        while len(data) < count:
            more = self.socket.recv(count - len(data))
            if not more:
                raise ConnectionError("closed")
            data += more
        return data

    def next(self):
        """The next snapshot, put together from its fragments; control frames are passed over."""
        whole = b""
        while True:
            first, second = self.exactly(2)
            length = second & 0x7F
            if length == 126:
                length, = struct.unpack(">H", self.exactly(2))
            elif length == 127:
                length, = struct.unpack(">Q", self.exactly(8))
            payload = self.exactly(length)
            if first & 0x0F in (0, 1):
                whole += payload
                if first & 0x80:
                    return json.loads(whole)
            if first & 0x0F == 9:
                self.send(payload, 10)
            if first & 0x0F == 8:
                raise ConnectionError("closed by the station")

    def send(self, payload, kind=1):
        mask = os.urandom(4)
        size = len(payload)
        head = bytes([0x80 | kind])
        head += bytes([0x80 | size]) if size < 126 else bytes([0x80 | 126]) + struct.pack(">H", size)
        self.socket.sendall(head + mask + bytes(b ^ mask[i % 4] for i, b in enumerate(payload)))

    def close(self):
        self.socket.close()
