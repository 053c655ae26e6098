"""``jawright report``: what a bug report needs. Imports nothing of ours that could be broken."""

from __future__ import annotations

import argparse
import importlib
import importlib.metadata
import platform
import sys

import jawright

LIBRARIES = {
    "numpy": "numpy",
    "scipy": "scipy",
    "shapely": "shapely",
    "cadquery-ocp-novtk": "OCP",
    "clarabel": "clarabel",
    "ezdxf": "ezdxf",
    "typst": "typst",
    "segno": "segno",
    "threadpoolctl": "threadpoolctl",
}


def run(args: argparse.Namespace) -> int:  # noqa: ARG001 (every command is called alike)
    """Print versions and whether each library loads; 0."""
    print(f"jawright {jawright.__version__}")
    print(f"Python {platform.python_version()} ({platform.python_implementation()})")
    print(f"system {platform.system()} {platform.release()} {platform.machine()}")
    print(f"text   {sys.stdout.encoding}")
    for distribution, module in LIBRARIES.items():
        print(f"{distribution} {_version(distribution)}, {_loads(module)}")
    return 0


def _version(distribution: str) -> str:
    try:
        return importlib.metadata.version(distribution)
    except importlib.metadata.PackageNotFoundError:
        return "not installed"


def _loads(module: str) -> str:
    try:
        importlib.import_module(module)
    except Exception as error:  # a broken installation is what this is for
        return f"does not load: {type(error).__name__}: {error}"
    return "loads"
