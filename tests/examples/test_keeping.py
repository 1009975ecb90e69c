"""The units and the container file of the examples: checked by the programs they are for, where these are there."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from carecal.cli.main import cli
from carecal.collection.rotation import keep_of

EXAMPLES = Path(__file__).parents[2] / "examples"
UNITS = sorted((EXAMPLES / "systemd").glob("*/*"))
ANALYZE = shutil.which("systemd-analyze")
MOST_EXPOSED = 2.0  # of 10, on the scale of `systemd-analyze security`; our choice, its word for less is OK


def settings(unit: Path) -> dict[str, list[str]]:
    """Return what a unit sets, by name."""
    found: dict[str, list[str]] = {}
    for line in unit.read_text(encoding="utf-8").splitlines():
        name, sign, value = line.partition("=")
        if sign and not line.startswith("#"):
            found.setdefault(name, []).append(value)
    return found


@pytest.fixture
def placed(tmp_path: Path) -> Path:
    """Return a folder with the units, their program being one that is here."""
    for unit in UNITS:
        target = tmp_path / unit.parent.name / unit.name
        target.parent.mkdir(exist_ok=True)
        text = unit.read_text(encoding="utf-8")
        target.write_text(
            re.sub(r"(?m)^ExecStart=\S+", f"ExecStart={sys.executable}", text), encoding="utf-8"
        )
    return tmp_path


@pytest.mark.skipif(ANALYZE is None, reason="systemd-analyze is not installed")
@pytest.mark.parametrize("scope", ["system", "user"])
def test_units_are_whole(placed: Path, scope: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """`systemd-analyze verify` finds nothing to say: no unknown setting, no missing program or unit."""
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(placed))
    units = [path for path in (placed / scope).iterdir() if path.suffix in {".service", ".timer"}]
    words = [str(ANALYZE), "verify", "--man=no", f"--{scope}", *map(str, units)]
    found = subprocess.run(words, capture_output=True, text=True, check=False, timeout=60)
    assert (found.returncode, found.stderr) == (0, "")
    assert len(units) == 5


@pytest.mark.skipif(ANALYZE is None, reason="systemd-analyze is not installed")
@pytest.mark.parametrize("name", ["carecal", "carecal-refresh", "carecal-backup"])
def test_services_of_a_machine_can_do_little(placed: Path, name: str) -> None:
    """`systemd-analyze security` counts how exposed a unit is: each under 2 of 10."""
    words = [
        str(ANALYZE),
        "security",
        "--offline=yes",
        "--no-pager",
        str(placed / "system" / f"{name}.service"),
    ]
    found = subprocess.run(words, capture_output=True, text=True, check=False, timeout=60)
    level = re.search(r"Overall exposure level for \S+: ([\d.]+)", found.stdout)
    if level is None:
        pytest.skip(f"this systemd-analyze looks at no unit by itself: {found.stderr.strip()[:80]}")
    assert float(level[1]) <= MOST_EXPOSED


@pytest.mark.parametrize(
    "unit", [u for u in UNITS if u.suffix == ".service"], ids=lambda u: f"{u.parent.name}-{u.name}"
)
def test_each_service_calls_a_command_that_exists(unit: Path) -> None:
    """Command and options of ExecStart are those of this program."""
    [line] = settings(unit)["ExecStart"]
    program, command, *words = shlex.split(line)
    assert program.endswith("/bin/carecal")
    found = cli.get_command(None, command)  # type: ignore[arg-type]  # it asks no context
    assert found is not None
    known = {option for param in found.params for option in param.opts}
    assert {word for word in words if word.startswith("-")} <= known
    if "--keep" in words:
        assert keep_of(words[words.index("--keep") + 1]).days == 7


def test_servers_say_that_they_are_ready_and_come_again() -> None:
    """Type=notify with a watchdog, restarted when they fail, printing nothing secret, and never open to the house."""
    for scope in ("system", "user"):
        found = settings(EXAMPLES / "systemd" / scope / "carecal.service")
        assert (found["Type"], found["Restart"], found["WatchdogSec"]) == (["notify"], ["on-failure"], ["60"])
        assert "--service" in found["ExecStart"][0]
        assert "--host" not in found["ExecStart"][0]


def test_timers_begin_what_is_there() -> None:
    """Each timer has a service of its name beside it and makes up for nights on which the machine was off."""
    timers = [unit for unit in UNITS if unit.suffix == ".timer"]
    assert len(timers) == 4
    for timer in timers:
        assert timer.with_suffix(".service").is_file()
        assert settings(timer)["Persistent"] == ["true"]


def instructions() -> list[tuple[str, str]]:
    """Return the instructions of the container file, lines that go on joined."""
    text = (EXAMPLES / "Containerfile").read_text(encoding="utf-8")
    lines = re.sub(r"\\\n\s*", "", "\n".join(line for line in text.splitlines() if not line.startswith("#")))
    return [(word, rest) for word, _, rest in (line.partition(" ") for line in lines.splitlines()) if word]


def test_the_container_is_small_closed_and_watched() -> None:
    """Two stages of a slim image, the second with the environment alone; no root, a volume, a health check."""
    found = instructions()
    assert {word for word, _ in found} <= {
        "FROM",
        "WORKDIR",
        "COPY",
        "RUN",
        "ENV",
        "USER",
        "VOLUME",
        "EXPOSE",
        "HEALTHCHECK",
        "ENTRYPOINT",
        "CMD",
    }
    starts = [index for index, (word, _) in enumerate(found) if word == "FROM"]
    assert [("-slim" in found[index][1]) for index in starts] == [True, True]
    last = dict(found[starts[-1] :])
    assert last["COPY"].startswith("--from=build")
    assert (last["USER"], last["VOLUME"], last["ENTRYPOINT"]) == ("10001", "/var/lib/carecal", '["carecal"]')
    assert "/healthz" in last["HEALTHCHECK"]
    assert "--service" in last["CMD"]


def test_what_the_container_takes_along_is_there() -> None:
    """Each file and folder that the build copies exists in the project."""
    for word, rest in instructions():
        if word == "COPY" and not rest.startswith("--"):
            *sources, _ = rest.split()
            assert all((EXAMPLES.parent / source).exists() for source in sources)
