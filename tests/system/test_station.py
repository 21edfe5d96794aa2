# SPDX-License-Identifier: MIT
"""The station by its own sockets, on a simulated bench on real wires at 16 times real speed: whole runs through the
panel's interface. What a client may not do is in test_station_security."""
import json
import signal
import socket
import threading
import time
import unittest

from bench_under_test import SINGLE, SimulatedBench, earthed_and_dead, run
from standstill import BenchOnWires
from station_under_test import Panel, Station, Watcher, misfits

with open(SINGLE, encoding="utf-8") as unit_document:
    SERIAL = json.load(unit_document)["serial"]


def ended(seen):
    return seen["run"] is not None and seen["run"]["end"] is not None


def watch(watcher, watched):
    while not watched or not ended(watched[-1]):
        watched.append(watcher.next())


def holding(seen):
    return seen["run"] is not None and seen["guard"]["state"] == "hold" and seen["guard"]["output_v"] > 200


class StationRuns(BenchOnWires):
    def test_a_whole_run_through_the_panel_ends_in_pass_and_can_release_nothing(self):
        with SimulatedBench(SINGLE) as bench, Station(bench) as station:
            panel = Panel(station)
            watcher = Watcher(station, panel.cookie)
            self.addCleanup(watcher.close)
            self.assertEqual(watcher.status, 101)
            self.assertTrue(watcher.proved)
            watched = []
            watching = threading.Thread(target=watch, args=(watcher, watched))
            watching.start()
            panel.choose(SERIAL)
            planned = panel.snapshot()["run"]
            self.assertEqual(planned["phase"], "identified")
            self.assertGreater(planned["of"], 8)
            panel.do("/api/start", {"serial": SERIAL})
            self.assertEqual(panel.act("/api/start", {"serial": SERIAL}).status, 409)
            seen, asked = panel.run(ended)
            end = seen["run"]["end"]
            self.assertEqual(end["outcome"], "PASS", json.dumps(end) + station.log())
            self.assertTrue(seen["simulated"])
            self.assertIn("connect.done", asked)
            self.assertIn("start", asked)
            # Every test that judges has a line with limit and verdict, and the last picture is the record's.
            judged = [line for line in seen["run"]["results"] if line["verdict"] != "-"]
            self.assertGreater(len(judged), 8)
            self.assertTrue(all(line["verdict"] == "pass" for line in judged), judged)
            self.assertEqual([s["state"] for s in seen["run"]["steps"]], ["done"] * len(seen["run"]["steps"]))
            # Who only watches saw the same: every status of the area, and the end.
            watching.join(10)
            self.assertFalse(watching.is_alive())
            self.assertEqual(watched[-1]["run"]["end"], end)
            self.assertEqual({one["area"]["status"] for one in watched},
                             {"ready_for_operation", "ready_to_switch_on", "in_operation"})
            truth = bench.truth()
            self.assertEqual(truth["dangerous_moments"], [])
            self.assertTrue(earthed_and_dead(truth))
            listed = panel.look("/api/records?serial=" + SERIAL).json()["records"]
            self.assertEqual([line["record_id"] for line in listed], [end["record_id"]])
            record = panel.look("/api/record?id=" + end["record_id"]).json()
            self.assertIn("SIMULATED, NOT FOR RELEASE", record["text"])
            self.assertEqual(record["record"]["outcome"], "PASS")
            self.assertEqual(record["record"]["person"], "supervisor")
            lines = panel.look("/api/limits").json()["lines"]
            self.assertGreater(len(lines), 5)
            types = panel.types
            for answer, kind in ((panel.me, "Me"), (panel.look("/api/instruments").json(), "Instruments"),
                                 (panel.look("/api/records").json(), "Records"), (lines, "LimitLine[]")):
                self.assertEqual(misfits(answer, kind, types), [], kind)
            # A limit stands beside the live reading where both are of one kind.
            beside = {one["run"]["reading"]["limit_of"] for one in watched if one["run"] and one["run"]["reading"]}
            self.assertIn("level", beside)
            self.assertTrue(all(one["run"]["reading"]["upper"] is not None for one in watched if one["run"]
                                and one["run"]["reading"] and one["run"]["reading"]["limit_of"] == "level"))
            # A run that began early broke their round off: it is made up for once the bench is free.
            until = time.monotonic() + 30
            while not all(line["ok"] for line in panel.look("/api/instruments").json()["instruments"]):
                self.assertLess(time.monotonic(), until, panel.look("/api/instruments").body)
                time.sleep(0.05)
            self.assertEqual([line["serial"] for line in seen["shift"]], [SERIAL])
            panel.do("/api/unit/clear")
            self.assertIsNone(panel.snapshot()["run"])
            self.assertEqual(station.end(signal.SIGTERM), 4)
            code, verified, _ = run("records", "verify", "--records", station.records)
            self.assertEqual(code, 0, verified)

    def test_a_hostile_client_changes_nothing_of_a_running_test(self):
        with SimulatedBench(SINGLE) as bench, Station(bench) as station:
            panel = Panel(station)
            panel.choose(SERIAL)
            panel.do("/api/start", {"serial": SERIAL})
            over, sent = threading.Event(), []

            def harass():
                here = b"Host: 127.0.0.1:%d\r\n" % station.port
                kinds = [b"POST /api/stop HTTP/1.1\r\n" + here + b"Content-Length: 2\r\nConnection: close\r\n\r\n{}",
                         b"POST /api/stop HTTP/1.1\r\n" + here + b"Origin: http://evil.example\r\nCookie: "
                         + panel.cookie.encode() + b"\r\nContent-Length: 2\r\n\r\n{}",
                         b"GET \xff HTTP/1.1\r\n\r\n", b"GET /events HTTP/1.1\r\n" + here + b"Upgrade: websocket\r\n\r\n",
                         b"POST /api/login HTTP/1.1\r\n" + here + b"Content-Length: 900000\r\n\r\n" + b"x" * 5000]
                while not over.is_set():
                    with socket.create_connection(("127.0.0.1", station.port), timeout=10) as client:
                        client.sendall(kinds[len(sent) % len(kinds)])
                    sent.append(1)
                    over.wait(0.002)

            enemy = threading.Thread(target=harass)
            enemy.start()
            try:
                seen, _ = panel.run(ended)
            finally:
                over.set()
                enemy.join(20)
            self.assertEqual(seen["run"]["end"]["outcome"], "PASS", json.dumps(seen["run"]["end"]) + station.log())
            self.assertGreater(len(sent), 1000)
            self.assertEqual(bench.truth()["dangerous_moments"], [])

    def test_gate_opened_in_a_hold_is_shown_with_cause_and_led_out_by_acknowledging(self):
        with SimulatedBench(SINGLE) as bench, Station(bench) as station:
            panel = Panel(station)
            panel.choose(SERIAL)
            panel.do("/api/start", {"serial": SERIAL})
            panel.run(holding)
            bench.control.ask({"set": {"gate": "open"}})
            seen, _ = panel.run(ended)
            self.assertEqual(seen["run"]["end"]["outcome"], "ABORTED", seen["run"]["end"])
            self.assertIn("gate", seen["run"]["end"]["reason"].lower())
            self.assertTrue(seen["run"]["end"]["repeat"])
            bench.wait_for(earthed_and_dead, "de-energised and earthed", 10)
            self.assertEqual(bench.truth()["dangerous_moments"], [])
            if seen["guard"]["state"] == "tripped":
                self.assertIn("gate", seen["guard"]["trip"]["first"]["words"].lower())
                self.assertEqual(panel.act("/api/start", {"serial": SERIAL}).status, 409)
                bench.control.ask({"set": {"gate": "closed"}})
                panel.do("/api/acknowledge")
            seen, _ = panel.run(lambda s: s["guard"]["state"] == "safe_earthed", 30)
            self.assertEqual(panel.act("/api/acknowledge").status, 409)
            panel.do("/api/unit", {"serial": SERIAL})
            panel.do("/api/start", {"serial": SERIAL})
            seen, _ = panel.run(ended)
            self.assertEqual(seen["run"]["end"]["outcome"], "PASS", json.dumps(seen["run"]["end"]))

    def test_stop_runs_down_from_any_panel_of_an_operator_and_not_from_a_watchers(self):
        with SimulatedBench(SINGLE) as bench:
            with Station(bench) as station:
                self.assertEqual(station.add_account("watching", "watcher", "only-looking")[0], 0)
                self.assertEqual(station.add_account("second", "operator", "other-panel")[0], 0)
                password = station.password
                self.assertEqual(station.end(), 4)
            with Station(bench) as station:
                station.password = password
                panel = Panel(station)
                other = Panel(station, "second", "other-panel")
                looking = Panel(station, "watching", "only-looking")
                panel.choose(SERIAL)
                panel.do("/api/start", {"serial": SERIAL})
                panel.run(holding)
                self.assertEqual(looking.act("/api/stop").status, 403)
                self.assertEqual(looking.act("/api/controls/take").status, 403)
                self.assertEqual(other.act("/api/controls/take").status, 409)
                self.assertEqual(other.act("/api/controls/take", {"from_another": True}).status, 409)
                self.assertEqual(other.act("/api/answer", {"number": 1, "answer": "start"}).status, 409)
                other.do("/api/stop")
                seen, _ = panel.run(ended)
                self.assertEqual(seen["run"]["end"]["outcome"], "ABORTED", seen["run"]["end"])
                self.assertIn("second", seen["run"]["end"]["reason"])
                self.assertEqual(bench.truth()["dangerous_moments"], [])
                self.assertTrue(earthed_and_dead(bench.truth()))
                # Handing over is explicit; then the other panel may act and this one may not.
                panel.do("/api/controls/release")
                other.do("/api/controls/take")
                self.assertEqual(panel.act("/api/unit/clear").status, 409)
                other.do("/api/unit/clear")

    def test_signal_during_a_run_makes_safe_and_a_kill_is_closed_as_aborted_at_the_next_start(self):
        with SimulatedBench(SINGLE) as bench:
            with Station(bench) as station:
                panel = Panel(station)
                panel.choose(SERIAL)
                panel.do("/api/start", {"serial": SERIAL})
                panel.run(holding)
                self.assertEqual(station.end(signal.SIGINT), 4)
                self.assertIn("EARTHED: proven closed", station.log())
                self.assertTrue(earthed_and_dead(bench.truth()))
                password = station.password
            with Station(bench) as station:
                panel = Panel(station, password=password)
                panel.choose(SERIAL)
                panel.do("/api/start", {"serial": SERIAL})
                panel.run(holding)
                station.process.kill()
                station.process.wait()
                bench.wait_for(lambda t: not t["energized"], "off", 10)
            with Station(bench) as station:
                self.assertIn("closed as ABORTED", station.log())
                panel = Panel(station, password=password)
                self.assertEqual([line["outcome"] for line in panel.snapshot()["shift"]], ["ABORTED", "ABORTED"])
                self.assertEqual(bench.truth()["dangerous_moments"], [])

    def test_a_held_unit_needs_a_signed_reason_and_an_unknown_one_is_said_in_words(self):
        with SimulatedBench(SINGLE, "--fault", "shorted-turn") as bench:
            with Station(bench) as station:
                panel = Panel(station)
                panel.do("/api/controls/take")
                for serial, status in (("no-such-unit", 404), ("x" * 500, 400), ("\u0001\u0002", 400), ("   ", 400)):
                    self.assertEqual(panel.act("/api/unit", {"serial": serial}).status, status, serial[:20])
                self.assertIn("No order has the serial",
                              panel.act("/api/unit", {"serial": "no-such-unit"}).json()["error"])
                panel.do("/api/unit", {"serial": "  %s " % SERIAL})
                panel.do("/api/start", {"serial": SERIAL})
                seen, _ = panel.run(ended)
                self.assertEqual((seen["run"]["end"]["outcome"], seen["run"]["end"]["disposition"]), ("FAIL", "hold"),
                                 seen["run"]["end"])
                panel.do("/api/unit", {"serial": SERIAL})
                self.assertTrue(panel.snapshot()["run"]["needs_a_reason"].startswith("On hold"))
                refused = panel.act("/api/start", {"serial": SERIAL})
                self.assertEqual(refused.status, 409)
                self.assertIn("signed reason", refused.json()["error"])
                panel.do("/api/start", {"serial": SERIAL, "reason": "coil replaced, see repair card"})
                seen, _ = panel.run(ended)
                self.assertEqual(seen["run"]["end"]["outcome"], "FAIL", seen["run"]["end"])


if __name__ == "__main__":
    unittest.main()
