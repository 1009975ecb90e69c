"""The grower's own profiles and tables over the program's: what they change and what they may not."""

from __future__ import annotations

from pathlib import Path

import pytest

from carecal.catalog import data_root, files_digest
from carecal.catalog.load import load_catalog
from carecal.errors import DataFault, StorageError

MY_MIX = """
[my-mix]
describes = "two parts bark, one part charcoal"
water_pct_low = 30
water_pct_high = 40
air_pct_low = 40
air_pct_high = 55
life_months_low = 12
life_months_high = 30
min_days = 2
max_days = 15
window_before = 0.25
window_after = 0.25
water_at_fraction = 0.4
tie = "later"
technique = "drench"
flush_days = 30
flush_efficiency = 0.6
feed_run_max = 3
cautions = ["dust"]
source = "my own pots, weighed for a winter"
"""
MY_PAIRS = """
[[pairs]]
medium = "my-mix"
containers = ["plastic", "net"]
source = "my own pots"
"""
MY_DAYS = """
[[reference_intervals]]
medium = "my-mix"
container = "plastic"
size_cm = [9, 12]
days = [5.5, 7]
role = "base"
source = "my own pots; PALOMAR"
"""


def write(home: Path, name: str, text: str) -> Path:
    """Write one of the grower's own files."""
    path = home / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_a_medium_is_added_by_files_alone(tmp_path: Path) -> None:
    """A stranger's medium has its row, pairs and days, and nothing else has changed; worked by hand."""
    write(tmp_path, "shared/media.toml", MY_MIX)
    write(tmp_path, "shared/pairs.toml", MY_PAIRS)
    write(tmp_path, "shared/reference_intervals.toml", MY_DAYS)
    catalog, plain = load_catalog(tmp_path), load_catalog()
    assert catalog.media["my-mix"].water_pct_high == 40
    assert catalog.media["my-mix"].max_days_in_reservoir is None
    assert catalog.pairs - plain.pairs == {("my-mix", "plastic"), ("my-mix", "net")}
    assert catalog.references["my-mix", "plastic"] == ((9, 5.5), (12, 7))
    assert {name: row for name, row in catalog.media.items() if name != "my-mix"} == plain.media


def test_an_own_row_overrides_the_programs_by_name(tmp_path: Path) -> None:
    """A row of the same name takes the place of the program's; worked by hand."""
    write(tmp_path, "shared/media.toml", MY_MIX.replace("[my-mix]", "[bark]"))
    assert load_catalog(tmp_path).media["bark"].max_days == 15


def test_own_reference_days_replace_those_of_the_pair_alone(tmp_path: Path) -> None:
    """Days of a pair are replaced whole, other pairs keep theirs; worked by hand."""
    write(tmp_path, "shared/reference_intervals.toml", MY_DAYS.replace("my-mix", "bark"))
    catalog = load_catalog(tmp_path)
    assert catalog.references["bark", "plastic"] == ((9, 5.5), (12, 7))
    assert catalog.references["moss", "plastic"] == load_catalog().references["moss", "plastic"]


def test_an_own_profile_overrides_by_name_and_a_new_one_is_added(tmp_path: Path) -> None:
    """A copied profile with one value changed is the one that counts; another name is one more."""
    text = (data_root("profiles") / "phalaenopsis.toml").read_text(encoding="utf-8")
    write(tmp_path, "profiles/phalaenopsis.toml", text.replace("night_min_c = 15.6", "night_min_c = 14.5"))
    write(tmp_path, "profiles/tide-house.toml", text.replace('name = "phalaenopsis"', 'name = "tide-house"'))
    catalog = load_catalog(tmp_path)
    assert catalog.profiles["phalaenopsis"].night_min_c == 14.5
    assert catalog.profiles["tide-house"].night_min_c == 15.6


def test_an_own_source_may_be_cited(tmp_path: Path) -> None:
    """A key defined in the grower's own sources is known to the other own files."""
    cited = MY_DAYS.replace("my-mix", "bark").replace("PALOMAR", "QUAYNOTES")
    write(tmp_path, "shared/reference_intervals.toml", cited)
    with pytest.raises(DataFault, match=r"no source 'QUAYNOTES' in sources; add it to sources\.toml"):
        load_catalog(tmp_path)
    own = '[QUAYNOTES]\nkind = "practice"\nreference = "Notes kept on the quay"\nsupport = "full text"\n'
    write(tmp_path, "shared/sources.toml", own)
    assert load_catalog(tmp_path).sources["QUAYNOTES"].kind == "practice"


def test_a_row_with_a_meaning_in_the_code_can_be_changed_but_not_added(tmp_path: Path) -> None:
    """A new stage is refused with the known ones, a changed one is taken."""
    stages = (data_root("shared") / "stages.toml").read_text(encoding="utf-8")
    write(tmp_path, "shared/stages.toml", stages.replace("enter_longest_mm = 50", "enter_longest_mm = 60"))
    assert load_catalog(tmp_path).stages["rooting-in"].enter_longest_mm == 60
    write(tmp_path, "shared/stages.toml", stages.replace("[rooting-in]", "[half-way]"))
    with pytest.raises(
        DataFault, match="half-way: no row of that name to change; known are rootless, new-tips"
    ):
        load_catalog(tmp_path)


def test_the_digest_follows_every_own_byte_and_name(tmp_path: Path) -> None:
    """The digest changes with a file's bytes and with its name, and comes back with them."""
    plain = files_digest(tmp_path)
    assert plain == files_digest(None) == load_catalog().digest
    path = write(tmp_path, "shared/media.toml", MY_MIX)
    with_medium = files_digest(tmp_path)
    path.write_text(MY_MIX.replace("0.4\n", "0.5\n"), encoding="utf-8")
    with_half = files_digest(tmp_path)
    path.rename(tmp_path / "shared" / "medium.toml")
    assert len({plain, with_medium, with_half, files_digest(tmp_path)}) == 4
    (tmp_path / "shared" / "medium.toml").unlink()
    assert files_digest(tmp_path) == plain


def test_a_file_that_cannot_be_read_is_a_storage_error(tmp_path: Path) -> None:
    """A folder in place of a file is said with its path."""
    (tmp_path / "shared" / "media.toml").mkdir(parents=True)
    with pytest.raises(StorageError, match=r"media\.toml cannot be read: is a directory"):
        load_catalog(tmp_path)
