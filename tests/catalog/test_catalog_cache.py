"""The catalog as JSON: equal after the round trip, and read without the checking library."""

from __future__ import annotations

import json
import pickle
import subprocess
import sys
from pathlib import Path

import pytest

from carecal.catalog import catalog_from_json, catalog_to_json, data_root, near
from carecal.catalog.load import load_catalog

READ = """
import sys
import carecal.catalog
catalog = carecal.catalog.catalog_from_json(sys.stdin.read())
assert carecal.catalog.files_digest() == catalog.digest
print(sorted({"pydantic", "tomllib"} & set(sys.modules)), catalog.media["bark"].max_days)
"""


def test_json_gives_an_equal_catalog() -> None:
    """Every row, pair, interval and source is the same after the round trip, its type included."""
    catalog = load_catalog()
    again = catalog_from_json(catalog_to_json(catalog))
    assert again == catalog
    assert hash(again) == hash(catalog)
    assert repr(again.media) == repr(catalog.media)
    assert repr(again.profiles) == repr(catalog.profiles)


def test_json_is_the_same_each_time() -> None:
    """The same files give the same text."""
    assert catalog_to_json(load_catalog()) == catalog_to_json(load_catalog())


def test_reading_the_json_imports_neither_pydantic_nor_a_toml_reader() -> None:
    """A fresh interpreter reads digest and catalog without them; the oracle is its list of modules."""
    text = catalog_to_json(load_catalog())
    command = [sys.executable, "-c", READ]
    done = subprocess.run(command, input=text, capture_output=True, text=True, check=False, encoding="utf-8")
    assert (done.stdout, done.stderr) == ("[] 14\n", "")


def test_json_of_another_version_is_refused() -> None:
    """A stored catalog with other columns is not misread."""
    document = json.loads(catalog_to_json(load_catalog()))
    with pytest.raises(ValueError, match="written by another version"):
        catalog_from_json(json.dumps({**document, "format": "0"}))
    with pytest.raises(ValueError, match="written by another version"):
        catalog_from_json("[]")


def test_a_catalog_travels_between_processes() -> None:
    """A pickled catalog is equal to the one sent."""
    catalog = load_catalog()
    assert pickle.loads(pickle.dumps(catalog)) == catalog  # noqa: S301 (our own bytes)


def test_near_names_the_best_first_whatever_the_case() -> None:
    """Near matches help a slip of the pen; names unlike any give none."""
    assert near("Brak", ["bark", "moss", "lava"]) == ("bark",)
    assert near("clear-plastik", ["plastic", "clear-plastic"]) == ("clear-plastic", "plastic")
    assert near("AOS-PHAL", ["aos-phal"]) == ("aos-phal",)
    assert near("quartz", ["bark", "moss"]) == ()


def test_data_lies_beside_the_package_in_a_checkout() -> None:
    """The folders found hold the files of this checkout or of the installed wheel."""
    assert (data_root("shared") / "media.toml").is_file()
    assert isinstance(data_root("profiles"), Path)
