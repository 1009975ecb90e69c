"""The client for addresses that a grower names: limits on time and size, and no redirect elsewhere."""

from __future__ import annotations

import threading
from http.server import BaseHTTPRequestHandler

import pytest

from carecal.calendars.addresses import parse_address, resolve_addresses
from carecal.calendars.caldav_push import CalendarAccount, Sent
from carecal.calendars.web_client import Client, Login, Unreachable
from carecal.errors import Refused
from tests.roads.loopback import Serve


class Quiet(BaseHTTPRequestHandler):
    """Says nothing on the terminal; answers every method in the same way."""

    def log_message(self, *_: object) -> None:
        """Say nothing."""

    def answer(self) -> None:
        """Answer a request."""

    def do_GET(self) -> None:
        """Answer a GET."""
        self.answer()

    def do_PROPFIND(self) -> None:
        """Answer a PROPFIND."""
        self.answer()


def test_a_server_that_drips_is_left_after_the_time_for_a_whole_answer(serve: Serve) -> None:
    """Each piece comes in time, the whole never does: the time for the whole ends it."""
    stop = threading.Event()

    class Drips(Quiet):
        def answer(self) -> None:
            self.send_response(200)
            self.end_headers()
            while not stop.wait(0.05):
                try:
                    self.wfile.write(b"x")
                    self.wfile.flush()
                except OSError:
                    return

    address = parse_address(f"{serve(Drips)}/a.ics")
    with pytest.raises(Unreachable, match="it took too long"):
        Client(private=True, seconds=0.5).send("GET", address)
    stop.set()


def test_half_an_answer_is_no_answer(serve: Serve) -> None:
    """A connection that breaks off before the promised length brings a refusal, not half a calendar."""

    class Half(Quiet):
        def answer(self) -> None:
            self.send_response(200)
            self.send_header("Content-Length", "1000")
            self.end_headers()
            self.wfile.write(b"BEGIN:VCALENDAR")

    with pytest.raises(Unreachable, match="the connection broke off"):
        Client(private=True).send("GET", parse_address(f"{serve(Half)}/a.ics"))


def test_a_silent_server_is_left_in_time(serve: Serve) -> None:
    """No answer within the limit is a refusal in one line."""
    stop = threading.Event()

    class Silent(Quiet):
        def answer(self) -> None:
            stop.wait(10)

    address = parse_address(f"{serve(Silent)}/a.ics")
    with pytest.raises(Unreachable, match="does not answer as it should"):
        Client(private=True, seconds=0.3).send("GET", address)
    stop.set()


def test_a_login_is_never_sent_on_by_a_redirect(serve: Serve) -> None:
    """A calendar server that sends on gets no second request; the other server hears nothing."""
    heard: list[str] = []

    class Other(Quiet):
        def answer(self) -> None:
            heard.append(self.headers.get("Authorization", ""))

    other = serve(Other)

    class SendsOn(Quiet):
        def answer(self) -> None:
            self.send_response(301)
            self.send_header("Location", f"{other}/care/")
            self.send_header("Content-Length", "0")
            self.end_headers()

    client = Client(Login("keeper", "word"), private=True)
    account = CalendarAccount(client, parse_address(f"{serve(SendsOn)}/care/"), "Care", {})
    with pytest.raises(Unreachable, match="sends on to another address; give that of the calendar itself"):
        account.push({"a": b"BEGIN:VCALENDAR\r\n"})
    assert heard == []


def test_what_was_sent_is_forgotten_only_when_a_new_calendar_stands(serve: Serve) -> None:
    """Where a server says not found and makes nothing, the memory of what was sent stays."""

    class NotFound(Quiet):
        def answer(self) -> None:
            self.send_response(404)
            self.send_header("Content-Length", "0")
            self.end_headers()

    sent = {"a": Sent('"1"', "x")}
    account = CalendarAccount(Client(private=True), parse_address(f"{serve(NotFound)}/care/"), "Care", sent)
    with pytest.raises(Refused, match="cannot be made"):
        account.push({"b": b"BEGIN:VCALENDAR\r\n"})
    assert sent == {"a": Sent('"1"', "x")}


@pytest.mark.parametrize(
    "number", ["224.0.0.1", "255.255.255.255", "ff02::1", "fe80::1", "240.0.0.1", "169.254.0.9"]
)
def test_numbers_that_are_never_allowed(number: str) -> None:
    """Multicast, broadcast, link-local and reserved numbers stay refused where private ones are named."""
    with pytest.raises(Refused, match="not of the open internet; allowed are addresses of the internet"):
        resolve_addresses(number, 443, private=True)


@pytest.mark.parametrize("number", ["10.1.2.3", "172.16.0.1", "192.168.0.1", "127.0.0.1", "::1", "fd00::1"])
def test_resolve_addresses_the_own_network_need_to_be_named(number: str) -> None:
    """Private numbers are refused until the grower says that they are meant."""
    with pytest.raises(Refused, match="allowed with private"):
        resolve_addresses(number, 443, private=False)
    assert resolve_addresses(number, 443, private=True) == [number]


def test_an_address_of_the_internet_is_allowed() -> None:
    """A number of the open internet needs no word."""
    assert resolve_addresses("93.184.216.34", 443, private=False) == ["93.184.216.34"]
