# SPDX-License-Identifier: MIT
"""Records as their users meet them years later: unaltered, found, computed again, reported, copied."""
import hashlib
import json
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import time
import unittest

from bench_under_test import BIN, SCALED, SINGLE, SOURCE, STATION, run

WISHES = os.path.join(SOURCE, "sim/demo/reports/utility-75.json")
WRITER = os.path.join(BIN, "journal_writer")


def test_unit(records, *arguments, unit=SINGLE):
    return run("test", "--virtual", "--yes", "--bench", SCALED, "--unit", unit, "--records", records, *arguments)


def tool(*command):
    return subprocess.run(command, capture_output=True, text=True, check=False)


def unit_with(folder, **changes):
    with open(SINGLE, encoding="utf-8") as file:
        unit = json.load(file)
    unit.pop("$schema")
    unit.update(changes)
    path = os.path.join(folder, "unit.json")
    with open(path, "w", encoding="utf-8") as file:
        json.dump(unit, file, ensure_ascii=False)
    return path


def tampered(records, sql):
    """Changes the file behind the program's back, triggers taken away first, as somebody with a database tool would."""
    database = sqlite3.connect(os.path.join(records, "journal.db"))
    for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        database.execute("DROP TRIGGER " + name)
    database.execute(sql)
    database.commit()
    database.close()


def killed_while_writing(folder, kills):
    """Kills a program that appends and says what is durable; answers (acknowledged, lost, kills in which anything was)."""
    acknowledged = counted = 0
    for number in range(kills):
        process = subprocess.Popen([WRITER, folder], stdout=subprocess.PIPE)
        # Most while it writes, some while it starts: by then there may be half a file.
        first = b"" if number % 5 == 4 else process.stdout.readline()
        time.sleep(0.03 * ((number * 37) % 97) / 97.0)
        process.send_signal(signal.SIGKILL)
        said = (first + process.stdout.read()).decode().split("\n")[:-1]  # the last line may be cut
        process.stdout.close()
        process.wait()
        if said:
            counted += 1
            acknowledged = max(acknowledged, int(said[-1]))
        if not said and not acknowledged and not os.path.exists(os.path.join(folder, "journal.db")):
            continue  # killed before there was anything
        code, out, err = run("records", "verify", "--records", folder, "--json")
        if code != 0:
            raise AssertionError("after kill %d: %s%s" % (number, out, err))
        head = json.loads(out)["head_seq"]
        if head < acknowledged:
            raise AssertionError("after kill %d: %d was acknowledged, %d is there" % (number, acknowledged, head))
    return acknowledged, counted


class Records(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.mkdtemp(prefix="benchward-records-")
        self.records = os.path.join(self.folder, "records")

    def tearDown(self):
        subprocess.run(["chmod", "-R", "u+w", self.folder], check=False)
        shutil.rmtree(self.folder, ignore_errors=True)

    def test_a_head_kept_outside_shows_a_cut_end_and_a_journal_written_anew(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        key = os.path.join(self.records, "keys", "journal.pub")
        kept = os.path.join(self.folder, "outside.pub")
        shutil.copy(key, kept)
        self.assertEqual(os.stat(os.path.join(self.records, "keys", "journal.key")).st_mode & 0o777, 0o600)
        code, head, _ = run("records", "head", "--records", self.records)
        self.assertEqual(code, 0)
        self.assertEqual(run("records", "verify", "--records", self.records, "--head", head, "--key", kept)[0], 0)
        whole = os.path.join(self.folder, "whole")
        shutil.copytree(self.records, whole)
        tampered(self.records, "DELETE FROM entries WHERE seq > 200")
        code, out, _ = run("records", "verify", "--records", self.records, "--head", head)
        self.assertEqual(code, 1, out)
        self.assertIn("entry 201", out)
        # With the stored heads gone too nothing inside is wrong: the head on paper is what shows it.
        tampered(self.records, "DELETE FROM heads")
        self.assertEqual(run("records", "verify", "--records", self.records, "--head", head)[0], 1)
        # Another journal, sound in itself, signed by another key.
        other = os.path.join(self.folder, "other")
        self.assertEqual(test_unit(other, "--seed", "7")[0], 0)
        self.assertEqual(run("records", "verify", "--records", other)[0], 0)
        code, out, _ = run("records", "verify", "--records", other, "--key", kept)
        self.assertEqual(code, 1)
        self.assertIn("not among the trusted", out)

    def test_a_key_that_others_may_read_is_refused_before_anything_is_done(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        os.chmod(os.path.join(self.records, "keys", "journal.key"), 0o644)
        code, _, err = test_unit(self.records)
        self.assertEqual(code, 5)
        self.assertIn("journal.key", err)

    def test_a_changed_entry_is_named_and_recomputation_is_identical_on_the_build_that_wrote(self):
        for seed in ("1", "2", "3"):
            self.assertEqual(test_unit(self.records, "--seed", seed)[0], 0)
        code, out, _ = run("records", "recompute", "--records", self.records)
        self.assertEqual(code, 0, out)
        self.assertIn("3 records", out)
        self.assertIn(" 0 different", out)
        environment = dict(os.environ, GLIBC_TUNABLES="glibc.cpu.hwcaps=-FMA,-AVX2,-AVX,-FMA4,-AVX512F")
        done = subprocess.run([STATION, "records", "recompute", "--records", self.records], capture_output=True, text=True,
                              env=environment, check=False)
        self.assertEqual(done.returncode, 0, done.stdout)
        tampered(self.records, "UPDATE entries SET bytes = replace(bytes, 'DEMO', 'DEMA') WHERE seq = 2")
        code, out, _ = run("records", "verify", "--records", self.records)
        self.assertEqual(code, 1)
        self.assertIn("entry 2", out)

    def test_with_other_limits_the_right_verdicts_change(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        with open(os.path.join(SOURCE, "limits/data/builtin-ieee.json"), encoding="utf-8") as file:
            limits = json.load(file)
        for rule in limits["rules"]:
            if rule["id"] == "ratio-tolerance":
                rule["percent"] = 0.01
        path = os.path.join(self.folder, "limits.json")
        with open(path, "w", encoding="utf-8") as file:
            json.dump(limits, file)
        code, out, err = run("records", "recompute", "--records", self.records, "--limits", path)
        self.assertEqual(code, 0, err)
        record = json.loads(run("records", "show", "--records", self.records, "--json")[1])
        outside = [one for one in record["results"] if one["quantity"] == "ratio_error_percent" and abs(one["value"]) > 0.01]
        self.assertGreater(len(outside), 0)
        changed = [line for line in out.splitlines() if "would be FAIL (-0.01 to 0.01 %)" in line]
        self.assertEqual(len(changed), len(outside), out)
        self.assertIn("then PASS, would be FAIL", out)

    def test_units_that_rest_on_an_instrument_are_named_with_what_is_left_of_their_margins(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        code, out, err = run("records", "affected", "--records", self.records, "--instrument", "PA-0033", "--since",
                             "2029-01-01", "--found", "power=-15", "--json")
        self.assertEqual(code, 0, err)
        affected = json.loads(out)
        self.assertEqual(len(affected["records"]), 1)
        loss = [one for one in affected["records"][0]["results"] if one["quantity"] == "corrected_no_load_loss_w"]
        # It read 15 % too little: the loss was 15 % more, and the margin of 12.6 W is gone (first order: 0.15 x 86.4 W).
        self.assertAlmostEqual(loss[0]["value_corrected"] / loss[0]["value"], 1.15, delta=0.002)
        self.assertLess(loss[0]["margin_corrected"], 0.5)
        code, out, _ = run("records", "affected", "--records", self.records, "--instrument", "PA-0033", "--since",
                           "2031-01-01", "--json")
        self.assertEqual(json.loads(out)["records"], [])
        code, _, err = run("records", "affected", "--records", self.records, "--instrument", "PA-0033")
        self.assertEqual(code, 2)
        self.assertIn("--since", err)

    def test_a_report_is_sound_pdf_with_embedded_fonts_a_mark_on_every_page_and_a_record_that_verifies(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        self.assertEqual(test_unit(self.records, "--seed", "3", "--fault", "shorted-turn")[0], 1)
        for outcome in ("PASS", "FAIL"):
            pdf = os.path.join(self.folder, outcome + ".pdf")
            arguments = ("records", "report", "--records", self.records, "--outcome", outcome, "--wishes", WISHES)
            code, _, err = run(*arguments, "--to", pdf)
            self.assertEqual(code, 0, err)
            self.assertEqual(tool("qpdf", "--check", pdf).returncode, 0)
            fonts = [line for line in tool("pdffonts", pdf).stdout.splitlines()[2:] if line.strip()]
            self.assertTrue(fonts)
            for line in fonts:
                self.assertRegex(line, r"\byes yes\b", "a font is not embedded")
            pages = tool("pdftotext", "-layout", pdf, "-").stdout.split("\f")[:-1]
            self.assertGreater(len(pages), 2)
            for number, page in enumerate(pages, 1):
                self.assertIn("SIMULATED, NOT FOR RELEASE", page)
                self.assertIn("Page %d of %d" % (number, len(pages)), page)
            text = "".join(pages)
            for words in ("Report number", "Laboratorio", "Ñandú", "Δοκιμή", "Проба", "concern only the items tested",
                          "DEMO-2025-004", "At 75 degC", "End of report", outcome + ": "):
                self.assertIn(words, text)
            again = os.path.join(self.folder, "again.pdf")
            run(*arguments, "--to", again)
            with open(pdf, "rb") as one, open(again, "rb") as two:
                self.assertEqual(one.read(), two.read(), "the same record gives other bytes")
            names = re.findall(r"journal-\w+\.jsonl", tool("qpdf", "--list-attachments", pdf).stdout)
            extract = os.path.join(self.folder, "extract.jsonl")
            with open(extract, "wb") as file:
                subprocess.run(["qpdf", "--show-attachment=" + names[0], pdf], stdout=file, check=True)
            key = os.path.join(self.records, "keys", "journal.pub")
            code, out, err = run("records", "verify", "--extract", extract, "--key", key)
            self.assertEqual(code, 0, out + err)
            with open(extract, encoding="utf-8") as file:
                changed = file.read().replace('"DEMO-1P-0050"', '"DEMO-1P-0051"')
            with open(extract, "w", encoding="utf-8") as file:
                file.write(changed)
            self.assertEqual(run("records", "verify", "--extract", extract, "--key", key)[0], 1)

    def test_an_amended_report_names_the_one_that_it_replaces_and_why(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        page = os.path.join(self.folder, "page.html")
        identifier = json.loads(run("records", "list", "--records", self.records, "--json")[1])["records"][0]["record_id"]
        arguments = ("records", "report", "--records", self.records, "--html", "--to", page)
        code, _, err = run(*arguments, "--replaces", identifier + "-1")
        self.assertEqual(code, 2)
        self.assertIn("--reason", err)
        self.assertEqual(run(*arguments, "--replaces", "other-1", "--reason", "x")[0], 2)
        code, _, err = run(*arguments, "--replaces", identifier + "-1", "--reason", "customer's <name> corrected")
        self.assertEqual(code, 0, err)
        with open(page, encoding="utf-8") as file:
            html = file.read()
        self.assertIn(identifier + "-2", html)
        self.assertIn("customer&#39;s &lt;name&gt; corrected", html)
        self.assertIn("SIMULATED, NOT FOR RELEASE", html)
        self.assertNotRegex(html, r"(src|href)=\"(?!data:)", "the page loads something")

    def test_a_report_of_an_attempt_that_never_ended_is_refused_and_the_next_start_closes_it(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        tampered(self.records, "DELETE FROM entries WHERE seq > 100")
        tampered(self.records, "DELETE FROM heads")
        os.remove(os.path.join(self.records, "catalogue.db"))
        code, _, err = run("records", "report", "--records", self.records, "--to", self.folder)
        self.assertEqual(code, 2)
        self.assertIn("has not ended", err)
        code, _, err = test_unit(self.records, "--seed", "2")
        self.assertEqual(code, 0, err)
        listed = json.loads(run("records", "list", "--records", self.records, "--json")[1])["records"]
        self.assertEqual([one["outcome"] for one in listed], ["ABORTED", "PASS"])
        code, _, err = run("records", "report", "--records", self.records, "--outcome", "ABORTED", "--to", self.folder)
        self.assertEqual(code, 0, err)

    def test_a_journal_written_by_version_1_is_read_for_ever(self):
        # Frozen: entries and file layout as version 1 wrote them, a unit that broke down. Never made anew; a new version
        # of an event adds a sample beside this one.
        data = os.path.join(SOURCE, "tests", "firmware_host", "data", "journal-of-version-1")
        with open(data + ".jsonl", encoding="utf-8") as file:
            entries = file.read().splitlines()
        with open(data + ".head", encoding="utf-8") as file:
            head = file.read()
        os.mkdir(self.records)
        database = sqlite3.connect(os.path.join(self.records, "journal.db"))
        database.executescript("PRAGMA application_id = 1113016881; PRAGMA user_version = 1;"
                               "CREATE TABLE entries (seq INTEGER PRIMARY KEY, bytes BLOB NOT NULL, hash TEXT NOT NULL);")
        for seq, text in enumerate(entries, 1):
            database.execute("INSERT INTO entries VALUES (?, ?, ?)",
                             (seq, text.encode(), hashlib.sha256(text.encode()).hexdigest()))
        database.commit()
        database.close()
        key = os.path.join(self.folder, "old.pub")
        with open(key, "w", encoding="utf-8") as file:
            file.write(head.split()[3] + "\n")
        code, out, err = run("records", "verify", "--records", self.records, "--head", head, "--key", key)
        self.assertEqual(code, 0, out + err)
        record = json.loads(run("records", "show", "--records", self.records, "--json")[1])
        self.assertEqual((record["serial"], record["outcome"], record["disposition"]), ("DEMO-1P-0050", "FAIL", "hold"))
        self.assertGreater(len(record["results"]), 30)
        code, out, err = run("records", "recompute", "--records", self.records)
        self.assertNotIn("cannot be read", out + err)
        self.assertIn("1 records", out)
        self.assertEqual(run("records", "report", "--records", self.records, "--to", self.folder)[0], 0)
        # What it holds binds the program of today: that unit failed, so it begins again with a signed reason only.
        code, _, err = test_unit(self.records, "--seed", "4")
        self.assertEqual(code, 2, err)
        self.assertIn("hold", err)
        code, _, err = test_unit(self.records, "--seed", "4", "--reason", "coil replaced", "--operator", "quality engineer")
        self.assertEqual(code, 0, err)
        self.assertEqual(run("records", "verify", "--records", self.records)[0], 0)

    def test_awkward_serial_numbers_go_through_record_report_and_table(self):
        for serial in ("a/../../b", "quote ' and \" and ; DROP TABLE entries; --", "=1+1", "\u202eשלום עולם\u202c",
                       "<script>alert(1)</script>", "%s%n {} \\"):
            unit = unit_with(self.folder, serial=serial)
            records = os.path.join(self.folder, "r%d" % len(os.listdir(self.folder)))
            code, _, err = test_unit(records, unit=unit)
            self.assertEqual(code, 0, serial + err)
            listed = json.loads(run("records", "list", "--records", records, "--serial", serial, "--json")[1])["records"]
            self.assertEqual([one["serial"] for one in listed], [serial])
            for form in ((), ("--html",)):
                code, out, err = run("records", "report", "--records", records, "--to", self.folder, *form)
                self.assertEqual(code, 0, err)
                self.assertEqual(os.path.dirname(out.strip().split(": ", 1)[1]), self.folder)
                if form:
                    with open(out.strip().split(": ", 1)[1], encoding="utf-8") as file:
                        self.assertNotIn("<script", file.read())
            self.assertEqual(run("records", "export", "--records", records, "--csv")[0], 0)
        code, _, err = test_unit(self.records, unit=unit_with(self.folder, serial="9" * 10000))
        self.assertEqual(code, 2)
        self.assertIn("serial", err)

    def test_backup_beside_a_writer_restores_and_verifies(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        writer = subprocess.Popen([WRITER, self.records], stdout=subprocess.PIPE)
        try:
            writer.stdout.readline()
            backup = os.path.join(self.folder, "backup")
            code, out, err = run("records", "backup", "--records", self.records, "--to", backup)
            self.assertEqual(code, 0, err)
        finally:
            writer.kill()
            writer.communicate()
        self.assertFalse(os.path.exists(os.path.join(backup, "keys", "journal.key")), "the private key was copied")
        restored = os.path.join(self.folder, "restored")
        self.assertEqual(run("records", "restore", "--from", backup, "--records", restored)[0], 0)
        self.assertEqual(run("records", "verify", "--records", restored)[0], 0)
        self.assertEqual(test_unit(restored, "--seed", "5")[0], 0)
        code, out, err = run("records", "verify", "--records", restored)
        self.assertEqual(code, 0, out + err)
        self.assertEqual(run("records", "restore", "--from", backup, "--records", restored)[0], 2)
        self.assertEqual(run("records", "backup", "--records", self.records, "--to", backup)[0], 2)

    def test_records_on_a_disk_that_nobody_may_write_are_read(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        backup = os.path.join(self.folder, "backup")
        self.assertEqual(run("records", "backup", "--records", self.records, "--to", backup)[0], 0)
        subprocess.run(["chmod", "-R", "a+rX,a-w", backup], check=True)
        os.chmod(self.folder, 0o755)
        command = [STATION, "records", "verify", "--records", backup]
        if os.geteuid() == 0:  # root may write everywhere: as nobody
            command = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups", *command]
        done = tool(*command)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        self.assertIn("264 entries", done.stdout)

    def test_a_full_disk_stops_units_and_keeps_what_is_there(self):
        self.assertEqual(test_unit(self.records)[0], 0)
        size = os.path.getsize(os.path.join(self.records, "journal.db"))
        # No file may grow beyond this: what a full disk does, without filling one.
        limited = ["prlimit", "--fsize=%d" % (size + 40000), STATION, "test", "--virtual", "--yes", "--bench", SCALED,
                   "--unit", SINGLE, "--records", self.records, "--seed", "2"]
        done = tool(*limited)
        self.assertEqual(done.returncode, 5, done.stdout[-300:] + done.stderr)
        code, out, err = run("records", "verify", "--records", self.records)
        self.assertEqual(code, 0, out + err)
        self.assertEqual(test_unit(self.records, "--seed", "3")[0], 0)
        listed = json.loads(run("records", "list", "--records", self.records, "--json")[1])["records"]
        self.assertEqual(listed[0]["outcome"], "PASS")
        self.assertEqual(listed[-1]["outcome"], "PASS")

    def test_killed_ten_times_while_writing_nothing_acknowledged_is_lost(self):
        acknowledged, counted = killed_while_writing(self.records, 10)
        self.assertGreater(counted, 0)
        self.assertGreater(acknowledged, 0)


if __name__ == "__main__":
    unittest.main()
