# SPDX-License-Identifier: MIT
"""Wrong things typed at the program: each one clear message, the right exit code, and nothing written."""
import copy
import json
import os
import shutil
import socket
import struct
import tempfile
import threading
import unittest

from bench_under_test import SCALED, SINGLE, SimulatedBench, run


class RealLookingBlock:
    """An I/O block that is no simulated one: keeps its watchdog time, echoes heartbeat and owner, answers no challenge."""

    def __init__(self, io):
        self.io = io
        self.server = socket.create_server(("127.0.0.1", 0))
        self.port = self.server.getsockname()[1]
        self.written = [0] * 256
        threading.Thread(target=self.serve, daemon=True).start()

    def word(self, kind, name):
        return self.io[kind][name]["word"]

    def serve(self):
        while True:
            try:
                client, _ = self.server.accept()
            except OSError:
                return
            threading.Thread(target=self.talk, args=(client,), daemon=True).start()

    def talk(self, client):
        with client:
            while True:
                head = self.receive(client, 7)
                if not head:
                    return
                transaction, _, length, unit = struct.unpack(">HHHB", head)
                body = self.receive(client, length - 1)
                if not body:
                    return
                answer = struct.pack(">HHHB", transaction, 0, 1 + len(self.answer(body)), unit) + self.answer(body)
                client.sendall(answer)

    @staticmethod
    def receive(client, count):
        data = b""
        while len(data) < count:
            piece = client.recv(count - len(data))
            if not piece:
                return b""
            data += piece
        return data

    def inputs(self, count):
        words = [0] * count
        for name_in, name_out in (("watchdog_ms", "watchdog_ms"), ("heartbeat_echo", "heartbeat"), ("owner_echo", "owner")):
            words[self.word("inputs", name_in)] = self.written[self.word("outputs", name_out)]
        words[self.word("inputs", "scan")] = self.written[self.word("outputs", "heartbeat")]
        return words

    def answer(self, body):
        function = body[0]
        if function == 23:
            _, read_count, write_address, write_count = struct.unpack(">HHHH", body[1:9])
            values = struct.unpack(">%dH" % write_count, body[10:10 + 2 * write_count])
            start = write_address - self.io["output_address"]
            self.written[start:start + write_count] = values
            return bytes([23, 2 * read_count]) + struct.pack(">%dH" % read_count, *self.inputs(read_count))
        if function == 16:
            address, count = struct.unpack(">HH", body[1:5])
            start = address - self.io["output_address"]
            self.written[start:start + count] = struct.unpack(">%dH" % count, body[6:6 + 2 * count])
            return body[:5]
        if function in (3, 4):
            _, count = struct.unpack(">HH", body[1:5])
            return bytes([function, 2 * count]) + struct.pack(">%dH" % count, *self.inputs(count))
        return bytes([function | 0x80, 1])

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.server.close()


class BadInput(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.mkdtemp(prefix="benchward-bad-")
        self.addCleanup(shutil.rmtree, self.folder, ignore_errors=True)
        self.records = os.path.join(self.folder, "records")
        with open(SINGLE, encoding="utf-8") as file:
            self.unit = json.load(file)
        with open(SCALED, encoding="utf-8") as file:
            self.bench = json.load(file)

    def file(self, name, content):
        path = os.path.join(self.folder, name)
        with open(path, "w", encoding="utf-8") as file:
            file.write(content if isinstance(content, str) else json.dumps(content))
        return path

    def refused(self, unit=SINGLE, bench=SCALED, code=2, words="", extra=()):
        got, out, err = run("test", "--virtual", "--yes", "--bench", bench, "--unit", unit, "--records", self.records, *extra)
        self.assertEqual(got, code, err + out)
        lines = [line for line in err.strip().splitlines() if line]
        self.assertEqual(len(lines), 1, "one clear message, not:\n" + err)
        self.assertRegex(err, words)
        self.assertEqual(out, "")
        self.assertFalse(os.path.exists(self.records), "something was written")
        return err

    def changed(self, **changes):
        unit = copy.deepcopy(self.unit)
        unit.update(changes)
        return self.file("unit.json", unit)

    def test_missing_file(self):
        self.refused(unit=os.path.join(self.folder, "none.json"), words="none.json")

    def test_a_directory(self):
        self.refused(unit=self.folder, words="director|folder")

    def test_empty_file(self):
        self.refused(unit=self.file("empty.json", ""), words="empty")

    def test_broken_json(self):
        self.refused(unit=self.file("broken.json", '{"phases": 1,, }'), words="line|column")

    def test_duplicate_key(self):
        text = json.dumps(self.unit)
        self.refused(unit=self.file("twice.json", text[:-1] + ', "phases": 1}'), words="phases")

    def test_deep_nesting(self):
        self.refused(unit=self.file("deep.json", "[" * 200000), words="deep|depth|nest")

    def test_wrong_type_names_the_path(self):
        self.refused(unit=self.changed(rated_kva="fifty"), words="/rated_kva.*fifty")

    def test_unknown_key_names_the_nearest(self):
        self.refused(unit=self.changed(rated_kwa=50), words="rated_kwa.*rated_kva")

    def test_negative_kva(self):
        self.refused(unit=self.changed(rated_kva=-50), words="rated_kva")

    def test_not_a_number(self):
        self.refused(unit=self.file("nan.json", json.dumps(self.unit).replace('"rated_kva": 50', '"rated_kva": NaN')), words="NaN|number|line")

    def test_unknown_vector_group(self):
        self.refused(unit=self.changed(vector_group="Qqn3"), words="vector_group.*Qqn3")

    def test_taps_in_the_wrong_order(self):
        unit = copy.deepcopy(self.unit)
        unit["hv"]["taps"] = list(reversed(unit["hv"]["taps"]))
        self.refused(unit=self.file("unit.json", unit), words="/hv/taps")

    def test_rated_tap_not_in_the_list(self):
        unit = copy.deepcopy(self.unit)
        unit["hv"]["rated_tap"] = 99
        self.refused(unit=self.file("unit.json", unit), words="rated_tap")

    def test_bench_whose_envelope_is_too_small(self):
        bench = copy.deepcopy(self.bench)
        for key in bench["envelope"]:
            if "kva" in key:
                bench["envelope"][key] = 1
        self.refused(bench=self.file("bench.json", bench), words="kVA")

    def test_two_instruments_at_one_address(self):
        bench = copy.deepcopy(self.bench)
        shared = {}
        for instrument in bench["instruments"]:
            shared.setdefault(instrument["link"], []).append(instrument)
        pair = next(group for group in shared.values() if len(group) > 1)
        pair[1]["unit_id"] = pair[0]["unit_id"]
        self.refused(bench=self.file("bench.json", bench), words="|".join(entry["name"] for entry in pair))

    def test_bench_documents_that_the_guard_cannot_work_with(self):
        def wired_twice(bench):
            bench["io"]["inputs"]["stop_b"] = bench["io"]["inputs"]["stop_a"]

        def undeclared(bench):
            del bench["io"]["inputs"]["hooks_home"]

        def guard(key, value):
            return lambda bench: bench["guard"].__setitem__(key, value)

        cases = ((wired_twice, r"/io/inputs/stop_b: .*stop_a"), (undeclared, r"/io: I09 .*neither wired nor declared absent"),
                 (guard("warning_s", 2.9), r"/guard/warning_s: at least 3 s"),
                 (guard("watchdog_s", 0), r"/guard/watchdog_s: 0 would"),
                 (guard("heartbeat_s", 1.2), r"/guard/heartbeat_s: .*not faster than the watchdog"),
                 (lambda bench: bench["io"].__setitem__("output_noise_v", 17.0), r"/guard/low_v: .*cannot prove 50"))
        for spoil, words in cases:
            bench = copy.deepcopy(self.bench)
            spoil(bench)
            self.refused(bench=self.file("bench.json", bench), words=words)

    def test_unknown_fault_names_the_nearest(self):
        self.refused(words="shorted-turn", extra=("--fault", "shorted-tum"))

    def test_virtual_run_on_a_bench_that_is_not_simulated(self):
        bench = copy.deepcopy(self.bench)
        bench["simulated"] = False
        bench.pop("simulation", None)
        self.refused(bench=self.file("bench.json", bench), words="simulated")

    def test_a_scale_too_high_is_refused_with_the_arithmetic(self):
        with SimulatedBench(SINGLE, scale=20) as bench:
            with open(bench.links, encoding="utf-8") as file:
                ready = json.load(file)
            ready["time_scale"] = 1000
            links = self.file("ready.json", ready)
            code, _, err = run("test", "--bench", SCALED, "--unit", SINGLE, "--links", links, "--yes", "--records", self.records)
            self.assertEqual(code, 2, err)
            self.assertRegex(err, "1000")
            self.assertFalse(os.path.exists(self.records))

    def test_a_document_that_says_simulated_while_the_wire_does_not_answer_the_challenge(self):
        with SimulatedBench(SINGLE) as bench, RealLookingBlock(self.bench["io"]) as block:
            with open(bench.links, encoding="utf-8") as file:
                ready = json.load(file)
            ready["links"][self.bench["io"]["link"]] = "modbus-tcp://127.0.0.1:%d" % block.port
            links = self.file("ready.json", ready)
            code, _, err = run("test", "--bench", SCALED, "--unit", SINGLE, "--links", links, "--yes", "--records", self.records)
            self.assertEqual(code, 2, err)
            self.assertRegex(err, "challenge|simulated")
            self.assertFalse(os.path.exists(self.records), "something was written")
            self.assertFalse(bench.truth()["energized"])

    def test_a_port_that_nobody_serves(self):
        with SimulatedBench(SINGLE) as bench:
            links = bench.links
            with open(links, encoding="utf-8") as file:
                ready = json.load(file)
        ready_path = self.file("ready.json", ready)
        code, _, err = run("test", "--bench", SCALED, "--unit", SINGLE, "--links", ready_path, "--yes", "--records", self.records, timeout=60)
        self.assertEqual(code, 3, err)

    def test_a_records_folder_that_cannot_be_written(self):
        blocked = self.file("a-file", "x")
        code, _, err = run("test", "--virtual", "--yes", "--bench", SCALED, "--unit", SINGLE, "--records", os.path.join(blocked, "records"))
        self.assertEqual(code, 5, err)

    def test_usage_errors_exit_2(self):
        for arguments in ((), ("tset",), ("test",), ("test", "--bench"), ("records", "lsit", "--records", self.folder)):
            code, _, err = run(*arguments)
            self.assertEqual(code, 2, arguments)


if __name__ == "__main__":
    unittest.main()
