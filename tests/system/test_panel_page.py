# SPDX-License-Identifier: MIT
"""The panel's page as data: its types against the JSON Schema of what the station sends, its languages against each
other, its lock file, its size. Nothing is started."""
import glob
import gzip
import json
import os
import re
import unittest

from bench_under_test import BIN, SOURCE
from station_under_test import page_types

PANEL = os.path.join(SOURCE, "firmware_host", "panel")
SIMPLE = {"string": {"type": "string"}, "boolean": {"type": "boolean"}, "number": {"type": "number"}, "null": {"type": "null"}}


def read(*parts):
    with open(os.path.join(PANEL, *parts), encoding="utf-8") as file:
        return file.read()


def schema_of(kind, words):
    """The schema (draft-07) that says the same as a type of the page."""
    kind = kind.strip()
    if kind.endswith("[]"):
        return {"type": "array", "items": schema_of(kind[:-2], words)}
    if kind.startswith("{") and kind.endswith("}"):
        return object_of(dict(item.split(":", 1) for item in kind[1:-1].split(";") if item.strip()), words)
    if "|" in kind:
        parts = [part.strip() for part in kind.split("|")]
        if all(part.startswith("'") for part in parts):
            return {"enum": [part.strip("'") for part in parts]}
        return {"anyOf": [schema_of(part, words) for part in parts]}
    if kind in SIMPLE:
        return SIMPLE[kind]
    if kind in words:
        return schema_of(words[kind], words)
    return {"const": int(kind)} if kind.isdigit() else {"$ref": "#/definitions/" + kind}


def object_of(keys, words):
    return {"type": "object", "additionalProperties": False, "required": [key.strip() for key in keys],
            "properties": {key.strip(): schema_of(kind, words) for key, kind in keys.items()}}


class PanelPage(unittest.TestCase):
    def test_types_of_the_page_say_what_the_schema_says(self):
        words = dict(re.findall(r"export type (\w+) = ([^;]+);", read("web", "src", "snapshot.ts")))
        of_page = {name: object_of(keys, words) for name, keys in page_types().items()}
        of_schema = json.loads(read("panel.schema.json"))["definitions"]
        self.assertEqual(sorted(of_page), sorted(of_schema))
        for name, wanted in of_schema.items():
            self.assertEqual(of_page[name], wanted, name)
        self.assertGreater(len(of_schema), 12)

    def test_a_second_language_is_whole(self):
        languages = {os.path.basename(path): json.loads(read("web", "src", "lang", os.path.basename(path)))
                     for path in glob.glob(os.path.join(PANEL, "web", "src", "lang", "*.json"))}
        self.assertGreater(len(languages), 1)
        english = languages.pop("en.json")
        for name, words in languages.items():
            self.assertEqual(list(words), list(english), name)
            for key, text in english.items():
                if key == "phrases":
                    for said, meant in words[key].items():
                        self.assertEqual(sorted(re.findall(r"\{\d\}", said)), sorted(re.findall(r"\{\d\}", meant)), said)
                        self.assertTrue(meant.strip(), said)
                elif isinstance(text, dict):
                    self.assertEqual(sorted(words[key]), sorted(text), key)
                else:
                    self.assertTrue(words[key].strip(), key)

    def test_what_the_guard_and_the_panel_say_has_a_phrase_in_the_second_language(self):
        phrases = json.loads(read("web", "src", "lang", "es.json"))["phrases"]
        with open(os.path.join(SOURCE, "tests_seq", "guard", "words.cpp"), encoding="utf-8") as file:
            guard = file.read()
        said = re.findall(r'^    "([^"]+)",', guard, flags=re.M)
        said += re.findall(r'return "([A-Z][^"]*)";', guard)
        said += re.findall(r'Question question\{"[^"]+", "([^"]+)"', read("panel_operator.cpp"))
        self.assertGreater(len(said), 45)
        self.assertEqual([text for text in said if text not in phrases], [])

    def test_the_lock_file_names_no_download_address_and_has_every_package_by_its_hash(self):
        packages = json.loads(read("web", "package-lock.json"))["packages"]
        self.assertEqual([name for name, entry in packages.items() if "resolved" in entry], [])
        self.assertEqual([name for name, entry in packages.items() if name and "integrity" not in entry], [])
        self.assertEqual(json.loads(read("web", "package.json"))["engines"]["node"], ">=18")

    def test_the_page_is_small_and_fetches_nothing_from_elsewhere(self):
        dist = os.path.join(os.path.dirname(BIN), "panel", "dist")
        if not os.path.isdir(dist):
            self.skipTest("the page was not built: no npm")
        size = 0
        for name in os.listdir(dist):
            with open(os.path.join(dist, name), "rb") as file:
                data = file.read()
            size += len(gzip.compress(data, 9))
            addresses = set(re.findall(rb"https?://[^\"'`\s)]+", data)) - {b"http://www.w3.org/2000/svg", b"http://www.w3.org/1998/Math/MathML", b"http://www.w3.org/1999/xhtml", b"http://www.w3.org/1999/xlink", b"http://www.w3.org/XML/1998/namespace", b"http://www.w3.org/2000/xmlns/"}
            self.assertEqual(addresses, set(), name)
        self.assertLess(size, 200_000)


if __name__ == "__main__":
    unittest.main()
