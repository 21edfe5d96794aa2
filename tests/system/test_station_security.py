# SPDX-License-Identifier: MIT
"""What a client may not do, over real sockets: sessions, origins, tokens, methods, sizes, guessing, slow heads, garbage,
WebSocket floods. Header and cookie attributes by RFC 6265 and 6455, Fetch and Content Security Policy Level 3; status
words by RFC 9110; the rest is common practice, no source."""
import json
import os
import select
import socket
import time
import unittest

from bench_under_test import SINGLE, SimulatedBench
from standstill import BenchOnWires
from station_under_test import Panel, Station, Watcher

ACTS = {"/api/login", "/api/logout", "/api/controls/take", "/api/controls/release", "/api/unit", "/api/unit/way",
        "/api/unit/rework", "/api/unit/clear", "/api/start", "/api/answer", "/api/stop", "/api/acknowledge", "/api/lockout/release"}
LOOKS = ["/api/me", "/api/snapshot", "/api/records", "/api/record?id=x", "/api/limits", "/api/instruments",
         "/api/reworks", "/api/report?id=x", "/api/chart?design=&what="]


def raw(station, data, seconds=10, until_closed=True):
    """Sends bytes, gives what comes back until the station closes."""
    with socket.create_connection(("127.0.0.1", station.port), timeout=seconds) as client:
        try:
            client.sendall(data)
            got = b""
            while True:
                more = client.recv(65536)
                if not more:
                    return got
                got += more
                if not until_closed and b"\r\n\r\n" in got:
                    return got
        except (ConnectionResetError, BrokenPipeError):
            return got if "got" in locals() else b""


class StationSecurity(BenchOnWires):
    @classmethod
    def setUpClass(cls):
        cls.bench = SimulatedBench(SINGLE)
        cls.addClassCleanup(cls.bench.close)

    def setUp(self):
        self.station = Station(self.bench, records=os.path.join(self.bench.folder, "records-" + self.id()))
        self.addCleanup(self.station.__exit__)

    def test_routes_are_open_and_list_exactly_the_acts(self):
        answer = self.station.ask("GET", "/api/routes")
        self.assertEqual(answer.status, 200)
        self.assertEqual({route["path"] for route in answer.json()["routes"]}, ACTS)

    def test_no_session_no_foreign_origin_no_missing_token_changes_anything(self):
        panel = Panel(self.station)
        before = panel.snapshot()
        for path in sorted(ACTS):
            self.assertEqual(self.station.ask("POST", path, "{}").status, 401, path)
            self.assertEqual(self.station.ask("POST", path, "").status, 401, path)
            for origin in ("http://evil.example", "null", "https://127.0.0.1:%d" % self.station.port,
                           "http://127.0.0.1:%d.evil.example" % self.station.port, "http://127.0.0.1:1"):
                answer = self.station.ask("POST", path, "{}", panel.headers(Origin=origin))
                self.assertEqual(answer.status, 403, path + " " + origin)
            if path != "/api/login":
                for token in ("", "0" * 32):
                    answer = self.station.ask("POST", path, "{}", panel.headers(X_Bench_Token=token))
                    self.assertEqual(answer.status, 403, path)
                stolen = {"Cookie": "bench_session=" + "0" * 64, "X-Bench-Token": panel.me["csrf"]}
                self.assertEqual(self.station.ask("POST", path, "{}", stolen).status, 401, path)
            answer = self.station.ask("GET", path, headers=panel.headers())
            self.assertEqual((answer.status, answer.headers["Allow"]), (405, "POST"), path)
            self.assertEqual(self.station.ask("DELETE", path, headers=panel.headers()).status, 405)
        for path in LOOKS:
            self.assertEqual(self.station.ask("GET", path).status, 401, path)
            self.assertEqual(self.station.ask("POST", path, "{}", panel.headers()).status, 405, path)
        after = panel.snapshot()
        self.assertEqual((before["holder"], before["run"]), (after["holder"], after["run"]))
        for path in ("/api/nothing", "/nothing", "/api/../etc/passwd", "/panel.js.map"):
            self.assertIn(self.station.ask("GET", path, headers=panel.headers()).status, (400, 404), path)
            self.assertIn(self.station.ask("POST", path, "{}", panel.headers()).status, (400, 404), path)

    def test_a_name_that_was_rebound_to_this_machine_is_not_served(self):
        for host in ("evil.example", "evil.example:%d" % self.station.port, "127.0.0.1", "127.0.0.1:1", ""):
            head = "GET /api/routes HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n" % host
            self.assertTrue(raw(self.station, head.encode()).startswith(b"HTTP/1.1 403"), host)
        answer = self.station.ask("GET", "/api/routes", headers={"Host": "localhost:%d" % self.station.port})
        self.assertEqual(answer.status, 200)

    def test_cookie_headers_and_page_are_as_a_browser_needs_them(self):
        panel = Panel(self.station)
        for word in ("HttpOnly", "SameSite=Strict", "Path=/"):
            self.assertIn(word, panel.set_cookie)
        for path, kind in (("/", "text/html"), ("/api/routes", "application/json"), ("/nothing", "application/json")):
            answer = self.station.ask("GET", path)
            self.assertTrue(answer.headers["Content-Type"].startswith(kind), path)
            self.assertEqual(answer.headers["X-Content-Type-Options"], "nosniff")
            self.assertEqual(answer.headers["Cache-Control"], "no-store")
            self.assertEqual(answer.headers["X-Frame-Options"], "DENY")
            policy = answer.headers["Content-Security-Policy"]
            self.assertIn("default-src 'none'", policy)
            self.assertIn("frame-ancestors 'none'", policy)
            self.assertNotIn("unsafe", policy)
        page = self.station.ask("GET", "/").body
        if "panel.js" in page:
            self.assertEqual(self.station.ask("GET", "/panel.js").headers["Content-Type"],
                             "text/javascript; charset=utf-8")
            self.assertEqual(self.station.ask("GET", "/panel.css").headers["Content-Type"], "text/css; charset=utf-8")
        else:
            self.assertIn("npm", page)

    def test_a_password_is_kept_as_a_hash_in_a_private_file_and_said_once(self):
        file = os.path.join(self.station.records, "keys", "accounts.json")
        self.assertEqual(os.stat(file).st_mode & 0o777, 0o600)
        self.assertEqual(os.stat(os.path.dirname(file)).st_mode & 0o777, 0o700)
        with open(file, encoding="utf-8") as opened:
            text = opened.read()
        self.assertNotIn(self.station.password, text)
        self.assertIn("$argon2id$", text)
        Panel(self.station)
        self.assertEqual(self.station.log().count(self.station.password), 1)
        self.station.end()
        code, words = self.station.add_account("bad", "operator", "short")
        self.assertEqual(code, 2, words)
        code, words = self.station.add_account("bad", "king", "long-enough")
        self.assertEqual(code, 2, words)
        again = Station(self.bench, records=self.station.records)
        self.addCleanup(again.__exit__)
        self.assertIsNone(again.password)
        os.chmod(file, 0o644)
        again.end()
        with self.assertRaisesRegex(RuntimeError, "chmod 600"):
            Station(self.bench, records=self.station.records)

    def test_guessing_is_braked(self):
        seen = [self.station.ask("POST", "/api/login", json.dumps({"name": "supervisor", "password": "wrong-%d" % i}))
                for i in range(7)]
        self.assertEqual([answer.status for answer in seen], [401] * 5 + [429] * 2)
        self.assertGreater(int(seen[-1].headers["Retry-After"]), 30)
        right = json.dumps({"name": "supervisor", "password": self.station.password})
        self.assertEqual(self.station.ask("POST", "/api/login", right).status, 429)

    def test_a_session_ends_with_logging_out_and_so_does_its_watching(self):
        panel = Panel(self.station)
        watcher = Watcher(self.station, panel.cookie)
        self.assertEqual(watcher.next()["v"], 1)
        panel.do("/api/controls/take")
        self.assertEqual(self.station.ask("POST", "/api/logout", "{}", panel.headers()).status, 200)
        self.assertEqual(panel.look("/api/me").status, 401)
        with self.assertRaises((ConnectionError, OSError)):
            while True:
                watcher.next()
        watcher.close()
        self.assertIsNone(Panel(self.station).snapshot()["holder"])

    def test_watching_needs_session_origin_and_host(self):
        panel = Panel(self.station)
        for arguments, status in (({}, 401), ({"cookie": "bench_session=" + "0" * 64}, 401),
                                  ({"cookie": panel.cookie, "origin": "http://evil.example"}, 403),
                                  ({"cookie": panel.cookie, "origin": "null"}, 403),
                                  ({"cookie": panel.cookie, "host": "evil.example"}, 403)):
            watcher = Watcher(self.station, **arguments)
            self.assertEqual(watcher.status, status, arguments)
            watcher.close()
        self.assertEqual(panel.look("/events").status, 426)

    def test_bad_bodies_are_refused_with_words(self):
        panel = Panel(self.station)
        panel.do("/api/controls/take")
        for body in ("{", "[]", "5", "nonsense", '{"serial": 5}', '{"serial": ""}', '{"other": 1}', '{"serial":"a","serial":"b"}',
                     '{"serial":"a","more":1}', "[" * 5000, '{"serial":"\\ud800"}'):
            answer = self.station.ask("POST", "/api/unit", body, panel.headers())
            self.assertEqual(answer.status, 400, body[:40])
            self.assertTrue(answer.json()["error"])
        self.assertEqual(self.station.ask("POST", "/api/login", "{").status, 400)
        for size in (300 * 1024, 4 * 1024 * 1024):
            self.assertEqual(self.station.ask("POST", "/api/unit", "x" * size, panel.headers()).status, 413)
        # The same without a length announced.
        chunk = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
        head = ("POST /api/login HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nTransfer-Encoding: chunked\r\n\r\n" % self.station.port)
        self.assertIn(b"413", raw(self.station, head.encode() + chunk * 6)[:20])
        self.assertIn(b"431", raw(self.station, b"GET / HTTP/1.1\r\nX: " + b"y" * 20000 + b"\r\n\r\n")[:20])
        self.assertIsNone(panel.snapshot()["run"])

    def test_garbage_and_half_requests_harm_nobody(self):
        panel = Panel(self.station)
        here = b"Host: 127.0.0.1:%d\r\n" % self.station.port
        for data in (b"\x00" * 4000, b"\r\n\r\n", b"GET\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n", os.urandom(3000) + b"\r\n\r\n",
                     b"POST /api/stop HTTP/1.1\r\n" + here + b"Content-Length: -1\r\n\r\n",
                     b"POST /api/stop HTTP/1.1\r\n" + here + b"Content-Length: 5\r\nContent-Length: 6\r\n\r\nabcde",
                     b"GET /%zz HTTP/1.1\r\n" + here + b"\r\n", b"GET /%00 HTTP/1.1\r\n" + here + b"\r\n",
                     b"GET /%2e%2e/keys HTTP/1.1\r\n" + here + b"\r\n", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + b"\x00" * 600):
            raw(self.station, data + b"", 15, until_closed=False)
            self.assertEqual(panel.look("/api/me").status, 200, data[:30])

    def test_ten_thousand_malformed_requests_leave_the_station_as_it_was(self):
        panel = Panel(self.station)
        before = panel.snapshot()
        kinds = [b"GET \xff HTTP/1.1\r\n\r\n", b"POST /api/start HTTP/1.1\r\n\r\n", b"nonsense\r\n\r\n",
                 b"POST /api/stop HTTP/1.1\r\nHost: x\r\nContent-Length: 2\r\nConnection: close\r\n\r\n{}"]
        for i in range(10_000):
            with socket.create_connection(("127.0.0.1", self.station.port), timeout=10) as client:
                client.sendall(kinds[i % len(kinds)])
        after = panel.snapshot()
        self.assertEqual((after["holder"], after["run"], after["guard"]["state"]),
                         (before["holder"], before["run"], before["guard"]["state"]))
        self.assertIsNone(self.station.process.poll())

    def test_a_slow_head_is_cut_off_and_others_are_served_meanwhile(self):
        panel = Panel(self.station)
        slow = [socket.create_connection(("127.0.0.1", self.station.port), timeout=20) for _ in range(50)]
        begin = time.monotonic()
        for client in slow:
            client.sendall(b"GET / HTTP/1.1\r\nHost: ")
        self.assertEqual(panel.look("/api/me").status, 200)
        for client in slow:
            client.settimeout(20)
            try:
                self.assertIn(client.recv(4096)[:12], (b"", b"HTTP/1.1 400"))
            except ConnectionResetError:
                pass
            client.close()
        # Ten seconds are the limit for a whole head, however slowly it drips.
        self.assertLess(time.monotonic() - begin, 15)

    def test_a_websocket_flood_is_ended_and_watchers_are_bounded(self):
        panel = Panel(self.station)
        flood = Watcher(self.station, panel.cookie)
        with self.assertRaises((ConnectionError, OSError)):
            for _ in range(10_000):
                flood.send(b"x" * 100)
                readable, _, _ = select.select([flood.socket], [], [], 0)
                if readable:
                    flood.next()
        flood.close()
        large = Watcher(self.station, panel.cookie)
        with self.assertRaises((ConnectionError, OSError)):
            large.send(b"y" * 60_000)
            while True:
                large.next()
        large.close()
        many = [Watcher(self.station, panel.cookie) for _ in range(70)]
        self.assertEqual(sorted({watcher.status for watcher in many}), [101, 503])
        self.assertEqual(sum(watcher.status == 101 for watcher in many), 64)
        for watcher in many:
            watcher.close()
        self.assertEqual(panel.look("/api/me").status, 200)


if __name__ == "__main__":
    unittest.main()
