"""``jawright serve``: the page, on this machine only."""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import socket
import sys
from pathlib import Path

import uvicorn

from jawright.doors.web.app import create_app
from jawright.errors import JawrightError

HOST = "127.0.0.1"


def run(args: argparse.Namespace) -> int:
    """Serve until stopped; 0."""
    with _socket(args.port) as line:
        port = line.getsockname()[1]
        hosts = frozenset(f"{name}:{port}" for name in (HOST, "localhost"))
        app = create_app(Path(args.folder), hosts=hosts)
        config = uvicorn.Config(
            app,
            log_level="warning",
            access_log=False,
            server_header=False,
            date_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=1,
            timeout_keep_alive=30,
            limit_concurrency=200,
            lifespan="on",
        )
        server = uvicorn.Server(config)
        print(f"Jawright is at http://{HOST}:{port}/ on this machine only. Stop it with Ctrl+C.", flush=True)
        print(f"Jobs are kept in {Path(args.folder).resolve()}", file=sys.stderr, flush=True)
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(server.serve(sockets=[line]))
    return 0


def _socket(port: int) -> socket.socket:
    line = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        line.bind((HOST, port))
    except (OSError, OverflowError) as e:
        line.close()
        raise JawrightError(
            "value-bad",
            what=f"port {port} cannot be used ({getattr(e, 'strerror', None) or e})",
            where="--port",
            todo="stop what uses it, or choose another with --port",
        ) from None
    return line
