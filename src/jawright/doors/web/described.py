"""The description of the interface at /openapi.json: what forms take and how refusals read, as well."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI

FORM = {
    "required": True,
    "content": {
        "application/x-www-form-urlencoded": {
            "schema": {
                "type": "object",
                "description": "Texts as typed; a plain number is in the unit the page shows. See the route.",
                "additionalProperties": {"type": "string"},
            }
        }
    },
}
FILE = {
    "required": True,
    "description": "The file as it is, its name URL-encoded in the header x-file-name.",
    "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
}
UPLOADS = ("/jobs", "/jobs/{job_id}/incoming")
PROBLEM = {
    "type": "object",
    "required": ["problem"],
    "properties": {
        "problem": {
            "type": "object",
            "required": ["code", "what", "where", "todo", "field"],
            "properties": {
                "code": {"type": "string", "description": "One of the codes of docs/reference/errors.md."},
                "what": {"type": "string"},
                "where": {"type": "string"},
                "todo": {"type": "string", "description": "What to do about it."},
                "field": {"type": "string", "description": "Name of the form's field meant, or empty."},
            },
        }
    },
}
GO = {
    "type": "object",
    "required": ["go"],
    "properties": {"go": {"type": "string", "description": "Address of the page to show now."}},
}
ORIGIN = {
    "name": "origin",
    "in": "header",
    "required": True,
    "schema": {"type": "string"},
    "description": "This server's own address; changes from anywhere else are refused.",
}


def describe(app: FastAPI) -> None:
    """Add to the app's description what a form takes, what a change answers, and how a refusal reads."""
    own = app.openapi

    def full() -> dict[str, Any]:
        if app.openapi_schema is None:
            schema = own()
            schema.setdefault("components", {}).setdefault("schemas", {})
            schema["components"]["schemas"] |= {"Problem": PROBLEM, "Go": GO}
            for path, methods in schema["paths"].items():
                for method, route in methods.items():
                    _told(path, method, route)
            app.openapi_schema = schema
        return app.openapi_schema

    app.openapi = full  # type: ignore[method-assign]


def _told(path: str, method: str, route: dict[str, Any]) -> None:
    said = {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Problem"}}}}
    route["responses"]["422"] = {"description": "Refused, with what to do about it.", **said}
    if method != "post":
        return
    route["requestBody"] = FILE if path in UPLOADS else FORM
    route.setdefault("parameters", []).append(ORIGIN)
    if "/live/" not in path:
        go = {"application/json": {"schema": {"$ref": "#/components/schemas/Go"}}}
        route["responses"]["200"] = {"description": "Done, when JSON is accepted.", "content": go}
        route["responses"]["303"] = {"description": "Done; on to a page, for a plain form."}
