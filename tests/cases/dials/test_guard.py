"""Who is let in: this machine, by name, from the page's own address, with its token."""

import asyncio

import pytest

from cases.dials.serve import Guard, file_within

PORT, TOKEN = 4321, "right"
HOST = f"127.0.0.1:{PORT}"


async def inner(scope, receive, send):
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"in"})


def answered(headers=(), query="", path="/", kind="http"):
    sent = []

    async def send(message):
        sent.append(message)

    scope = {
        "type": kind, "path": path, "query_string": query.encode(),
        "headers": [(name.encode(), of.encode()) for name, of in headers],
    }  # fmt: skip
    asyncio.run(Guard(inner, PORT, TOKEN)(scope, None, send))
    return sent


COOKIE = ("cookie", f"hoopclock={TOKEN}")


def test_the_address_with_the_token_gives_the_cookie():
    start, _ = answered([("host", HOST)], f"token={TOKEN}")
    assert start["status"] == 303
    cookie = dict(start["headers"])[b"set-cookie"].decode()
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie


def test_with_the_cookie_it_is_in_and_may_ask_no_other_host():
    start, body = answered([("host", HOST), COOKIE])
    assert body["body"] == b"in"
    policy = dict(start["headers"])[b"content-security-policy"].decode()
    assert f"connect-src 'self' ws://{HOST};" in policy


@pytest.mark.parametrize(
    ("headers", "query"),
    [
        ([("host", HOST)], ""),
        ([("host", HOST)], "token=wrong"),
        ([("host", HOST), ("cookie", "hoopclock=wrong")], ""),
        ([("host", HOST), ("cookie", "a=\x01;=")], ""),
        ([("host", "evil.example"), COOKIE], ""),
        ([("host", f"evil.example:{PORT}"), COOKIE], ""),
        ([COOKIE], ""),
        ([("host", HOST), ("origin", "http://evil.example"), COOKIE], ""),
        ([("host", HOST), ("origin", "null"), COOKIE], ""),
        ([("host", HOST), ("origin", "http://127.0.0.1:1"), COOKIE], ""),
    ],
)
def test_others_are_refused(headers, query):
    assert answered(headers, query)[0]["status"] == 403
    assert answered(headers, query, kind="websocket")[0]["type"] == "websocket.close"


def test_a_token_opens_the_page_alone():
    assert answered([("host", HOST)], f"token={TOKEN}", path="/results/x")[0]["status"] == 403


def test_files_of_the_results_alone(tmp_path):
    results = tmp_path / "case"
    results.mkdir()
    (results / "report.html").write_text("x")
    (tmp_path / "case.toml").write_text("secret")
    (results / "link").symlink_to(tmp_path / "case.toml")
    assert file_within(results, "report.html") == results / "report.html"
    for name in ("../case.toml", str(tmp_path / "case.toml"), "link", "", ".", "none", "a\0b"):
        assert file_within(results, name) is None
