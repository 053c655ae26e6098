"""``jawright serve``: the page, on this machine only."""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import ipaddress
import logging
import socket
import sys
from pathlib import Path

import uvicorn

from jawright.doors.web.app import create_app
from jawright.doors.web.hasty import Hasty
from jawright.doors.web.plans import bring_in
from jawright.doors.web.store import Store
from jawright.doors.web.token import Gate, read_token
from jawright.errors import JawrightError

HOST = "127.0.0.1"


def run(args: argparse.Namespace) -> int:
    """Serve until stopped; 0."""
    gate = _gate(args)
    for folder in args.plan:
        print(f"on the list: {bring_in(Store(Path(args.folder)), Path(folder))}", file=sys.stderr)
    with _socket(args.network or HOST, args.port) as line:
        port = line.getsockname()[1]
        names = [HOST, "localhost"] if gate is None else [HOST, "localhost", args.network.lower()]
        hosts = frozenset(f"{name}:{port}" for name in names)
        address = f"http://{args.network or HOST}:{port}"
        app = create_app(Path(args.folder), hosts=hosts, address=address, gate=gate)
        config = uvicorn.Config(
            app,
            http=Hasty,
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
        logging.getLogger("uvicorn.error").addFilter(_not_of_leaving)
        server = uvicorn.Server(config)
        who = "on this machine only" if gate is None else "for everybody who has the token"
        print(f"Jawright is at {address}/ {who}. Stop it with Ctrl+C.", flush=True)
        if gate is not None:
            print(f"First time in a browser: {address}/?token=… as in {args.token_file}", file=sys.stderr)
            print("Nothing is encrypted on the way: only in a network you trust.", file=sys.stderr)
        print(f"Jobs are kept in {Path(args.folder).resolve()}", file=sys.stderr, flush=True)
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(server.serve(sockets=[line]))
    return 0


def _not_of_leaving(record: logging.LogRecord) -> bool:
    """Answers cut short because the server was stopped are no defect and leave no traceback."""
    error = record.exc_info[1] if record.exc_info else None
    return not isinstance(error, asyncio.CancelledError) and "graceful shutdown" not in record.getMessage()


def _gate(args: argparse.Namespace) -> Gate | None:
    """The gate of a server that is open to a network; None on this machine only."""
    if not args.network:
        return None
    try:
        ipaddress.IPv4Address(args.network)
    except ValueError:
        raise JawrightError(
            "value-bad",
            what=f'"{args.network}" is not an address of this machine in its network',
            where="--network",
            todo="give the address the others reach this machine at, such as 192.168.1.20",
        ) from None
    if not args.token_file:
        raise JawrightError(
            "key-missing",
            what="opening the page to a network needs a token",
            where="--token-file",
            todo="name a file; a token is made in it when it is not there",
        )
    return Gate(read_token(Path(args.token_file)))


def _socket(host: str, port: int) -> socket.socket:
    # named as TCP, or asyncio leaves small answers waiting 40 ms for the reader's acknowledgement
    line = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        line.bind((host, port))
        line.listen(128)  # who comes between the address being told and the server's start waits
    except (OSError, OverflowError) as e:
        line.close()
        raise JawrightError(
            "value-bad",
            what=f"{host} port {port} cannot be used ({getattr(e, 'strerror', None) or e})",
            where="--port" if host == HOST else "--network",
            todo="stop what uses it, or choose another",
        ) from None
    return line
