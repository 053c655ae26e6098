"""A whole document of tables against the sections it may have: what is not known is refused."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jawright.errors import JawrightError
from jawright.files.schema import Key, Row, Section
from jawright.files.toml import Document
from jawright.handbook import nearest


class Reader:
    """A whole document against its sections. Raises on a section that is not known."""

    def __init__(self, doc: Document, sections: Sequence[Section], *, loose: tuple[Key, ...] = ()) -> None:
        self.doc = doc
        self._sections = {s.name: s for s in sections}
        top = Section("top of the file", "keys before the first section", loose)
        names = [*self._sections, *(k.name for k in loose)]
        for name in doc.data:
            if name not in names:
                near = nearest(name, names)
                hint = f'did you mean "{near}"? ' if near else ""
                raise JawrightError(
                    "key-unknown",
                    what=f'"{name}" is not a section of this file',
                    where=doc.where(name),
                    todo=f"{hint}known: {', '.join(names)}",
                )
        self.top = Row(
            doc, top, {k: v for k, v in doc.data.items() if k not in self._sections}, place=(), plain=""
        )
        stated = self.top.text("units") if "units" in self.top else ""
        self.plain = {"": "", "mm": "mm", "inch": "in"}[stated]

    def one(self, name: str) -> Row:
        """The single table [name]; an absent one reads as empty, so that its required keys are named.

        Raises ``value-bad`` when it stands several times, and as ``Row`` does.
        """
        section = self._sections[name]
        data = self.doc.data.get(name, {})
        if isinstance(data, list):
            raise JawrightError(
                "value-bad",
                what=f"there is only one [{name}]",
                where=self.doc.where(name, 0),
                todo=f"write [{name}] with single brackets",
            )
        return Row(self.doc, section, data, place=(name,), plain=self.plain)

    def many(self, name: str) -> Iterator[Row]:
        """The tables [[name]] in file order.

        Raises ``value-bad`` when they do not stand in double brackets, and as ``Row`` does.
        """
        section = self._sections[name]
        data = self.doc.data.get(name, [])
        if isinstance(data, dict):
            raise JawrightError(
                "value-bad",
                what=f"[{name}] may stand several times",
                where=self.doc.where(name),
                todo=f"write [[{name}]] with double brackets",
            )
        if not isinstance(data, list):
            raise JawrightError(
                "value-bad", what=f"{name} must be tables [[{name}]]", where=self.doc.where(name)
            )
        for i, row in enumerate(data):
            yield Row(self.doc, section, row, place=(name, i), plain=self.plain)
