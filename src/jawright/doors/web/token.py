"""The token that opens the page to others in the shop's network; on this machine alone none is needed.

It comes once as ``?token=…`` or typed into a form, and stays in a cookie that no script can read. What is
kept in the cookie is the token itself: a new token shuts out everybody who has the old one.
"""

from __future__ import annotations

import asyncio
import hmac
import secrets
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from urllib.parse import parse_qs, quote, urlencode

from jawright.errors import JawrightError

COOKIE = "jawright-token"
SHORTEST = 16
"""Letters a token has at least."""
WRONG_S = 0.5
"""A wrong token is answered only after this time [s]."""
KEPT_S = 90 * 24 * 3600

ASK = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Token needed · Jawright</title></head>
<body><main><h1>This page needs its token</h1>
<p>It was printed where the server was started.</p>
<form method="get"><p><label>Token <input name="token" type="password" autocomplete="off" required></label>
<button>Open</button></p></form></main></body></html>
"""


def read_token(file: Path) -> str:
    """The token in a file; one is made, readable by its owner only, when there is no file.

    Raises ``value-bad`` when it is too short, ``file-write`` when it can be neither read nor made.
    """
    try:
        if not file.exists():
            file.touch(mode=0o600)
            file.write_text(secrets.token_urlsafe(24) + "\n", "ascii")
        token = file.read_text("utf-8").strip()
    except (OSError, ValueError) as e:
        raise JawrightError(
            "file-write",
            what=f"the token file can be neither read nor made ({getattr(e, 'strerror', None) or e})",
            where="--token-file",
            todo="name a file in a folder of your own",
        ) from None
    if len(token) < SHORTEST or not token.isascii() or not token.isprintable() or " " in token:
        raise JawrightError(
            "value-bad",
            what=f"the token has to be {SHORTEST} plain letters and digits or more",
            where="--token-file",
            todo="remove the file and let a new one be made",
        )
    return token


class Gate:
    """Lets a request through, sends it on with the cookie set, or asks for the token."""

    def __init__(self, token: str) -> None:
        self._token = token

    def is_open(self, headers: list[tuple[bytes, bytes]]) -> bool:
        """True when a request carries the token in its cookie."""
        for name, value in headers:
            if name == b"cookie":
                try:
                    jar = SimpleCookie(value.decode("latin-1"))
                except CookieError:
                    continue
                if COOKIE in jar and self._is(jar[COOKIE].value):
                    return True
        return False

    async def answer(self, path: str, query: str) -> tuple[int, list[tuple[bytes, bytes]], str]:
        """Status, headers and page for a request without the cookie: on with it, or the form."""
        given = parse_qs(query, keep_blank_values=True, max_num_fields=100)
        if self._is(given.get("token", [""])[0]):
            rest = urlencode([(k, v) for k, vs in given.items() if k != "token" for v in vs])
            to = quote(path) + (f"?{rest}" if rest else "")
            kept = f"{COOKIE}={self._token}; Path=/; HttpOnly; SameSite=Strict; Max-Age={KEPT_S}"
            return 303, [(b"location", to.encode("latin-1")), (b"set-cookie", kept.encode("latin-1"))], ""
        if "token" in given:
            await asyncio.sleep(WRONG_S)
        return 401, [(b"content-type", b"text/html; charset=utf-8")], ASK

    def _is(self, text: str) -> bool:
        return hmac.compare_digest(text.encode("utf-8"), self._token.encode("utf-8"))
