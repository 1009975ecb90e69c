"""What is built for others: the wheel and the source archive hold what the program needs, and run from there."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

import carecal

ROOT = Path(__file__).resolve().parents[1]
DATA = ("profiles", "shared")

SHOW_DATA = """
import carecal
from carecal.catalog.data import data_root
print(carecal.__file__)
for name in ("profiles", "shared"):
    print(data_root(name))
"""


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the source archive and the wheel made from that archive, built without a network."""
    folder = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(folder), str(ROOT)]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stdout + result.stderr
    return folder


@pytest.fixture(scope="module")
def wheel(built: Path) -> Path:
    """Return the only wheel that was built."""
    (path,) = built.glob("*.whl")
    return path


def _data_files() -> set[str]:
    return {f"{name}/{path.name}" for name in DATA for path in (ROOT / name).glob("*.toml")}


def test_wheel_holds_all_profiles_and_tables(wheel: Path) -> None:
    """The wheel carries each profile and each shared table of the tree; the oracle is the tree itself."""
    prefix = "carecal/_data/"
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    inside = {name.removeprefix(prefix) for name in names if name.startswith(prefix)}
    assert {"profiles/phalaenopsis.toml", "shared/media.toml"} <= inside
    assert _data_files() <= inside


def test_wheel_holds_what_the_pages_are_made_of(wheel: Path) -> None:
    """Each template, style and script of the tree lies in the wheel; the oracle is the tree itself."""
    web = ROOT / "carecal" / "web"
    parts = {p.relative_to(ROOT).as_posix() for p in web.glob("*/*") if p.suffix in {".html", ".css", ".js"}}
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    assert {"carecal/web/templates/round.html", "carecal/web/static/style.css"} <= parts
    assert parts <= names


def test_wheel_holds_the_pages_that_its_code_cites(wheel: Path) -> None:
    """What `models I3` and `trade-facts D9` lead to lies beside the code, also where it is installed."""
    pages = {page.relative_to(ROOT).as_posix() for page in (ROOT / "carecal").rglob("README.md")}
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    assert {"carecal/planning/README.md", "carecal/horticulture/README.md"} <= pages <= names
    assert "carecal/_data/shared/README.md" in names


def test_wheel_is_typed_licensed_and_has_the_command(wheel: Path) -> None:
    """The wheel ships its type marker, its licence, its version and the command, and neither tests nor scripts."""
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        info = f"carecal-{carecal.__version__}.dist-info"
        commands = archive.read(f"{info}/entry_points.txt").decode()
    assert {"carecal/py.typed", f"{info}/licenses/LICENSE"} <= set(names)
    assert "carecal = carecal.cli.main:run" in commands.splitlines()
    assert {name.split("/")[0] for name in names} == {"carecal", info}


def test_source_archive_holds_what_the_tree_needs(built: Path) -> None:
    """The source archive carries code, data, tests and scripts, so that what is unpacked can be tested and built."""
    (path,) = built.glob("*.tar.gz")
    with tarfile.open(path) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert _data_files() <= names
    assert {"LICENSE", "README.md", "pyproject.toml", "carecal/py.typed", "scripts/test", ".ci/run"} <= names
    assert "tests/test_package.py" in names


def test_unpacked_wheel_finds_its_own_data(wheel: Path, tmp_path: Path) -> None:
    """Away from the checkout the package finds the profiles and tables that lie inside it, not those of the tree."""
    shutil.unpack_archive(wheel, tmp_path, "zip")
    environment = {**os.environ, "PYTHONPATH": str(tmp_path)}
    result = subprocess.run(
        [sys.executable, "-c", SHOW_DATA],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 0, result.stderr
    package = tmp_path / "carecal"
    expected = [package / "__init__.py", package / "_data" / "profiles", package / "_data" / "shared"]
    assert [Path(line).resolve() for line in result.stdout.splitlines()] == [
        path.resolve() for path in expected
    ]
