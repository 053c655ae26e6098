"""Jawright: a vise hold that is proven before metal is cut."""

__version__ = "0.1.0"
