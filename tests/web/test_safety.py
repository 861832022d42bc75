"""Nobody but this page is let in, and nothing outside the project is let out.

The attacks are those OWASP describes for local servers: DNS rebinding, cross-site request forgery,
path traversal, oversized uploads (OWASP Cheat Sheet Series, read 2026; WHATWG Fetch Metadata).
"""

from __future__ import annotations

import http.client
import os
import socket
import threading
from pathlib import Path

import pytest

from fiddlehead.errors import InputError
from fiddlehead.web.server import LOOPBACK, door_of, listen
from tests.web.served import Served


def test_another_host_name_is_not_served(site: Served) -> None:
    for host in ("evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1:1"):
        assert site.get("/api/project", Host=host).status == 421, host


def test_our_own_names_are_served(site: Served) -> None:
    for name in ("127.0.0.1", "localhost", "[::1]"):
        assert site.get("/api/state", Host=f"{name}:{site.port}").status == 200


def test_another_page_may_not_write(site: Served) -> None:
    before = site.workbench.desk.path.read_text()
    change = {"changes": [{"path": ["finger", "pitch_mm"], "value": 9.0}], "etag": "x"}
    for origin in ("http://evil.example", "null", "http://127.0.0.1:1", "file://"):
        assert site.post("/api/change", change, Origin=origin).status == 403, origin
        assert site.post("/api/jobs", {"verb": "fit"}, Origin=origin).status == 403, origin
    assert site.workbench.desk.path.read_text() == before


def test_another_site_is_known_without_an_origin(site: Served) -> None:
    assert site.get("/api/project", **{"Sec-Fetch-Site": "cross-site"}).status == 403
    assert site.post("/api/undo", **{"Sec-Fetch-Site": "same-site"}).status == 403
    link = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
    assert site.get("/", **link).status == 200, "a person may follow a link to the page"
    assert site.get("/api/state", **{"Sec-Fetch-Site": "same-origin"}).status == 200


def test_every_answer_carries_the_rules(site: Served) -> None:
    page = site.get("/").headers
    assert "default-src 'self'" in page["content-security-policy"]
    assert "unsafe" not in page["content-security-policy"]
    assert page["x-content-type-options"] == "nosniff"
    assert "access-control-allow-origin" not in page
    shown = site.get("/files/fiddlehead.toml").headers["content-security-policy"]
    assert shown.startswith("sandbox;")
    assert "script-src" not in shown
    assert site.get("/", Host="evil.example").headers["x-content-type-options"] == "nosniff"


def test_elsewhere_a_token_is_needed(elsewhere: Served) -> None:
    assert elsewhere.get("/api/project").status == 401
    assert elsewhere.get("/?token=wrong").status == 401
    assert elsewhere.get("/api/project", Cookie="fiddlehead_token=wrong").status == 401
    opened = elsewhere.get(f"/?token={elsewhere.door.token}")
    assert opened.status == 303
    cookie = opened.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert elsewhere.get("/api/project", Cookie=cookie.split(";")[0]).status == 200
    assert len(elsewhere.door.token) >= 24


def test_loopback_needs_none_and_each_start_has_its_own() -> None:
    assert all(not door_of(host, 1).token for host in LOOPBACK)
    assert door_of("0.0.0.0", 1).token != door_of("0.0.0.0", 1).token


OUTSIDE = (
    "../secret.txt", "results/../../secret.txt", "%2e%2e/secret.txt", "/etc/passwd", "a%00b",
    "..%2fsecret.txt", "C:/secret.txt", "..%5csecret.txt", "link.txt", ".git/config",
    "results/.hidden",
)  # fmt: skip
ADDRESSES = (
    "/files/", "/api/preview?file=", "/api/table?file=", "/api/object?file=", "/api/scene?place=",
    "/zip/",
)  # fmt: skip


def test_no_path_leads_out_of_the_project(site: Served) -> None:
    folder = site.workbench.desk.folder
    (folder.parent / "secret.txt").write_text("secret")
    (folder / ".git").mkdir()
    (folder / ".git/config").write_text("secret")
    (folder / "results/.hidden").write_text("secret")
    os.symlink(folder.parent / "secret.txt", folder / "link.txt")
    for address in (before + name for name in OUTSIDE for before in ADDRESSES):
        answer = site.get(address)
        assert answer.status in (404, 422), address
        assert b"secret" not in answer.body.replace(b"secret.txt", b""), address


def test_no_entry_from_the_page_names_a_file_outside(site: Served) -> None:
    etag = site.get("/api/project").json["etag"]
    for name in ("../../secret.csv", "/etc/passwd", "C:\\secret.csv", "../*.csv"):
        one = {"path": ["material", "tests", 0], "value": {"files": [name], "mode": "uniaxial"}}
        answer = site.post("/api/change", {"changes": [one], "etag": etag})
        assert answer.status == 422, name
        assert "leads out of the project" in answer.json["message"]
        sheet = {"verb": "experiment analyse", "choices": {"sheet": name}}
        assert site.post("/api/jobs", sheet).status == 422, name


ODD_WORK: tuple[dict, ...] = (
    {"verb": "serve"},
    {"verb": "bend --results /tmp"},
    {"verb": "bend", "choices": {"results": "/tmp"}},
    {"verb": "bend", "choices": {"mesh": "--results=/tmp"}},
    {"verb": "bend", "choices": {"pressure_kpa": -1}},
    {"verb": "bend", "choices": {"pressure_kpa": "100; true"}},
    {"verb": "block", "choices": {"pressure_kpa": 10}},
    {"verb": "bend", "choices": ["--mesh"]},
    {},
)


def test_only_listed_work_can_be_started(site: Served) -> None:
    for asked in ODD_WORK:
        assert site.post("/api/jobs", asked).status == 422, asked
    assert site.get("/api/state").json["jobs"] == []


def test_too_large_is_refused_with_and_without_a_length(site: Served) -> None:
    assert site.post("/api/try", b"x" * 1_000_001).status == 413
    line = http.client.HTTPConnection("127.0.0.1", site.port, timeout=20)
    line.putrequest("PUT", "/api/upload/tensile/a.csv", skip_host=True)
    line.putheader("Host", f"127.0.0.1:{site.port}")
    line.putheader("Content-Length", str(65_000_000))
    line.endheaders()
    assert line.getresponse().status == 413
    line.close()
    assert not (site.workbench.desk.folder / "tensile").exists()


def test_what_is_no_json_is_told(site: Served) -> None:
    for body in (b"{", b"[1]", b"\xff", b'{"changes": [1]}', b'{"changes": [{"path": []}]}',
                 b'{"changes": [{"path": [1, "a"], "value": 1}]}'):  # fmt: skip
        answer = site.post("/api/try", body)
        assert answer.status == 422, body
        assert answer.json["message"]


def test_a_taken_port_is_told() -> None:
    taken = listen("127.0.0.1", 0)
    taken.listen()
    with pytest.raises(InputError, match="cannot listen there"):
        listen("127.0.0.1", taken.getsockname()[1])
    taken.close()


def test_listens_on_loopback_only(site: Served) -> None:
    addresses = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None)}
    for address in addresses - {"127.0.0.1", "127.0.1.1", "::1"}:
        with socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET) as probe:
            probe.settimeout(1)
            assert probe.connect_ex((address, site.port)) != 0, address


def test_many_at_once_write_one_after_the_other(site: Served, tmp_path: Path) -> None:
    """Two pages that saw the same file cannot both write: the second is told."""
    etag = site.get("/api/project").json["etag"]
    codes: list[int] = []

    def write(value: float) -> None:
        one = {"path": ["finger", "width_mm"], "value": value}
        codes.append(site.post("/api/change", {"changes": [one], "etag": etag}).status)

    threads = [threading.Thread(target=write, args=(12.0 + k,)) for k in range(1, 5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(codes) == [200, 422, 422, 422]
