"""Publishing into stores: a web space by WebDAV, S3 and SFTP, each a real server on loopback."""

from __future__ import annotations

import builtins
import gc
import secrets
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from carecal.calendars import stores
from tests.cli.cli_run import done, quay, refused
from tests.roads.readers import days_by_both, planned_days
from tests.roads.servers import USER, WORD, needs, sftp, webdav

pytestmark = [
    pytest.mark.usefixtures("home"),
    pytest.mark.servers,
    # The drivers' own event loop and sockets end with the process, not with the test.
    pytest.mark.filterwarnings(
        "ignore::ResourceWarning",
        "ignore::DeprecationWarning",
        "ignore::pytest.PytestUnraisableExceptionWarning",
    ),
]


@pytest.fixture(autouse=True)
def _swept() -> Iterator[None]:
    """Let go of what drivers and servers have left open before another test hears of it."""
    yield
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        gc.collect()


class Space:
    """A store on loopback: its address, and what another program finds in it."""

    def __init__(self, target: str, read: Callable[[], dict[str, bytes]]) -> None:
        self.target, self.read = target, read

    def only(self) -> tuple[str, bytes]:
        """Return name and bytes of its only file."""
        ((name, content),) = self.read().items()
        return name, content


@contextmanager
def _webdav(folder: Path, _: pytest.MonkeyPatch) -> Iterator[Space]:
    (folder / "care").mkdir(parents=True)
    with webdav(folder) as address:
        yield Space(f"{address}/care", lambda: _files(folder / "care"))


@contextmanager
def _sftp(folder: Path, patch: pytest.MonkeyPatch) -> Iterator[Space]:
    (folder / "care").mkdir(parents=True)
    patch.setenv("HOME", str(folder.parent / "user"))
    with sftp(folder, folder.parent / "user" / ".ssh") as address:
        yield Space(f"{address}/care", lambda: _files(folder / "care"))


@contextmanager
def _s3(_: Path, patch: pytest.MonkeyPatch) -> Iterator[Space]:
    needs("s3fs")
    server = needs("moto.server").ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    address, bucket = (
        f"http://{host}:{port}",
        f"quay-{secrets.token_hex(4)}",
    )  # all servers share what they hold
    patch.setenv("AWS_ENDPOINT_URL", address)
    patch.setenv("AWS_DEFAULT_REGION", "us-east-1")
    client = needs("boto3").client("s3", aws_access_key_id=USER, aws_secret_access_key=WORD)
    client.create_bucket(Bucket=bucket)

    def read() -> dict[str, bytes]:
        listed = client.list_objects_v2(Bucket=bucket, Prefix="care/").get("Contents", [])
        return {i["Key"]: client.get_object(Bucket=bucket, Key=i["Key"])["Body"].read() for i in listed}

    try:
        yield Space(f"s3://{bucket}/care", read)
    finally:
        client.close()
        server.stop()


def _files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


SPACES = {"webdav": _webdav, "sftp": _sftp, "s3": _s3}


@pytest.fixture(params=sorted(SPACES))
def space(request: pytest.FixtureRequest, home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Space]:
    """Return a store of each kind, and a collection with a calendar."""
    quay()
    done("calendar", "add", "Phone", "--days", "30")
    monkeypatch.setenv("CARECAL_PASSWORD", WORD)
    with SPACES[request.param](home.parent / "space", monkeypatch) as found:
        yield found


def _publish(space: Space, *more: str) -> Any:
    return done(
        "--json", "calendar", "publish", "Phone", space.target, "--private", "--user", USER, *more
    ).json


def test_a_store_holds_one_whole_file_that_two_readers_read(space: Space) -> None:
    """The file has an unguessable name and nothing beside it; what it says is the plan."""
    told = _publish(space)
    name, body = space.only()
    assert name.rsplit("/", 1)[-1] == told["file"]
    assert days_by_both(body) == planned_days(until="2026-12-31")


def test_a_refresh_replaces_the_file_and_sends_nothing_when_nothing_has_changed(
    space: Space, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After an entry the same name holds the new plan; a second refresh opens no store."""
    _publish(space)
    name, before = space.only()
    done("done", "watering", "tide")
    done("refresh")
    assert space.only()[0] == name
    assert space.only()[1] != before
    assert days_by_both(space.only()[1]) == planned_days(until="2026-12-31")

    def opened(*_: object) -> None:
        raise AssertionError("a store was opened for nothing")

    monkeypatch.setattr(stores.Store, "_run", opened)
    done("refresh")


def test_stop_takes_the_file_away(space: Space) -> None:
    """What was published is gone."""
    _publish(space)
    done("calendar", "publish", "Phone", space.target, "--stop")
    assert space.read() == {}


def test_a_write_that_breaks_leaves_the_old_file_whole(space: Space, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the connection breaks before the file is in its place, the old one stays and no part of the new."""
    _publish(space)
    before = space.read()
    done("done", "watering", "tide")

    def broken(files: Any) -> Any:
        def breaks(*_: object, **__: object) -> None:
            raise ConnectionError("the line is cut")

        files.mv = breaks
        if hasattr(files, "client") and hasattr(files.client, "move"):
            files.client.move = breaks
        if hasattr(files, "s3"):
            files.pipe_file = breaks
        return files

    opened = stores.Store._opened

    def breaking(self: stores.Store, *args: Any, **options: Any) -> tuple[Any, str]:
        files, folder = opened(self, *args, **options)
        return broken(files), folder

    monkeypatch.setattr(stores.Store, "_opened", breaking)
    assert "the line is cut" in refused("calendar", "publish", "Phone", space.target)
    assert space.read() == before


def test_a_wrong_password_is_refused_in_one_line(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The store's refusal comes as one line without the password."""
    quay()
    done("calendar", "add", "Phone")
    monkeypatch.setenv("CARECAL_PASSWORD", "wrong-word")
    with _webdav(home.parent / "space", monkeypatch) as space:
        said = refused("calendar", "publish", "Phone", space.target, "--private", "--user", USER)
    assert "cannot be written" in said
    assert "wrong-word" not in said


def test_an_unknown_host_key_is_refused(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file server whose key is not in known_hosts gets neither password nor calendar."""
    quay()
    done("calendar", "add", "Phone")
    monkeypatch.setenv("CARECAL_PASSWORD", WORD)
    with _sftp(home.parent / "space", monkeypatch) as space:
        (home.parent / "user" / ".ssh" / "known_hosts").write_text("")
        said = refused("calendar", "publish", "Phone", space.target, "--private", "--user", USER)
        assert "host key" in said.lower()
        assert space.read() == {}


@pytest.mark.parametrize(
    ("target", "extra"),
    [
        ("s3://quay/care", "s3"),
        ("sftp://127.0.0.1/care", "sftp"),
        ("webdav://127.0.0.1/care", "webdav"),
    ],
)
def test_a_missing_driver_names_our_extra(target: str, extra: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the driver one line says what to install."""
    quay()
    done("calendar", "add", "Phone")

    def missing(name: str) -> None:
        raise builtins.ImportError(name)

    monkeypatch.setattr(stores, "import_module", missing)
    assert f"install it: pip install 'carecal[{extra}]'" in refused(
        "calendar", "publish", "Phone", target, "--private"
    )
