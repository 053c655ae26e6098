"""Blocks as one HTML page: no outside request, no script, every word escaped."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from typing import Any

from jawright.papers.questions import WORDS
from jawright.papers.show import (
    Answer,
    Banner,
    Block,
    Break,
    Fact,
    Facts,
    Grid,
    Heading,
    Line,
    Lines,
    Masthead,
    Numbered,
    Pair,
    Picture,
    Steps,
    Tiles,
    clean,
)

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


def page(blocks: tuple[Block, ...], *, title: str, foot: str, ready: bool) -> str:
    """A whole page that works from a folder without a server."""
    css = files("jawright.data").joinpath("sheet.css").read_text("utf-8")
    sections: list[list[str]] = [[]]
    for b in blocks:
        if isinstance(b, Break):
            sections.append([])
        else:
            sections[-1].append(block(b))
    body = "\n".join("<section>\n" + "\n".join(s) + "\n</section>" for s in sections if s)
    state = "ready" if ready else "not-ready"
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{clean(title)}</title>\n<style>\n{css}</style>\n</head>\n"
        f'<body class="{state}">\n<main>\n{body}\n</main>\n<footer>{clean(foot)}</footer>\n'
        "</body>\n</html>\n"
    )


def block(b: Block) -> str:
    """One block."""
    draw: Callable[[Any], str] = _DRAW[type(b)]
    return draw(b)


def _title(text: str) -> str:
    return f"<h2>{clean(text)}</h2>\n" if text else ""


def _masthead(b: Masthead) -> str:
    facts = "".join(f"<div><dt>{clean(f.label)}</dt><dd>{clean(f.value)}</dd></div>" for f in b.facts)
    code = b.code.replace("<svg ", '<svg class="code" role="img" aria-label="code of the record" ', 1)
    return (
        f'<header>{code}<h1><span class="number">{clean(b.number)}</span> '
        f'<span class="name">{clean(b.name)}</span></h1>\n<dl class="strip">{facts}</dl></header>'
    )


def _banner(b: Banner) -> str:
    lines = "".join(f"<li>{clean(x)}</li>" for x in b.lines)
    title = f"<strong>{clean(b.title)}</strong>"
    return f'<div class="banner {b.level or "plain"}" role="status">{title}<ul>{lines}</ul></div>'


def _tiles(b: Tiles) -> str:
    return '<dl class="tiles">' + "".join(_fact(f, "div") for f in b.facts) + "</dl>"


def _fact(f: Fact, tag: str) -> str:
    hint = f' title="{clean(f.help)}"' if f.help else ""
    note = f"<small>{clean(f.note)}</small>" if f.note else ""
    level = f' class="{f.level}"' if f.level else ""
    return f"<{tag}{level}><dt{hint}>{clean(f.label)}</dt><dd>{clean(f.value)}{note}</dd></{tag}>"


def _facts(b: Facts) -> str:
    wide = " two" if b.columns == 2 else ""
    return _title(b.title) + f'<dl class="facts{wide}">' + "".join(_fact(f, "div") for f in b.facts) + "</dl>"


def _grid(b: Grid) -> str:
    total = sum(b.shares)
    cols = "".join(f'<col style="width:{100 * s / total:.2f}%">' for s in b.shares)
    heads = "".join(f'<th scope="col"{_right(b, i)}>{clean(h)}</th>' for i, h in enumerate(b.heads))
    rows = "".join(
        "<tr>" + "".join(f"<td{_right(b, i)}>{_cell(b, i, c)}</td>" for i, c in enumerate(row)) + "</tr>\n"
        for row in b.rows
    )
    note = f'<p class="note">{clean(b.note)}</p>' if b.note else ""
    kind = (' class="fill"' if b.fill_in else "") + f' style="min-width:{58 * len(b.heads)}px"'
    return (
        _title(b.title)
        + f'<div class="scroll"><table{kind}><colgroup>{cols}</colgroup><thead><tr>{heads}</tr></thead>'
        + f"<tbody>\n{rows}</tbody></table></div>{note}"
    )


def _cell(b: Grid, i: int, text: str) -> str:
    if i == b.verdicts:
        return _verdict(text, next((k for k, w in WORDS.items() if w == text), ""))
    return clean(text)


def _right(b: Grid, i: int) -> str:
    names = [n for n, on in (("right", i in b.right), ("pen", i in b.fill_in)) if on]
    return f' class="{" ".join(names)}"' if names else ""


def _steps(b: Steps) -> str:
    items = "".join(f"<li>{clean(s)}</li>\n" for s in b.items)
    return _title(b.title) + f'<ol class="steps">\n{items}</ol>'


def _lines(b: Lines) -> str:
    if not b.title and not b.level:
        return "".join(f'<p class="lead">{clean(s)}</p>' for s in b.items)
    return (
        _title(b.title)
        + f'<ul class="lines {b.level}">'
        + "".join(f"<li>{clean(s)}</li>" for s in b.items)
        + "</ul>"
    )


def _numbered(b: Numbered) -> str:
    return _title(b.title) + '<ol class="lines">' + "".join(f"<li>{clean(s)}</li>" for s in b.items) + "</ol>"


def _picture(b: Picture) -> str:
    # our own drawing, its words escaped where it was drawn; names of patterns and clips are
    # made unlike those of the page's other drawings
    svg = b.svg.replace('id="', f'id="{b.name}-').replace("url(#", f"url(#{b.name}-")
    caption = f"<figcaption>{clean(b.caption)}</figcaption>" if b.caption else ""
    return f'<figure class="{clean(b.name)}" aria-label="{clean(b.alt)}">{svg}{caption}</figure>'


def _heading(b: Heading) -> str:
    sub = f'<p class="note">{clean(b.sub)}</p>' if b.sub else ""
    return f'<h1 class="page">{clean(b.text)}</h1>{sub}'


def _answer(b: Answer) -> str:
    lines = (
        "".join(_line(p) for p in b.lines)
        or "<p class='note'>No proof of this question is in the record.</p>"
    )
    word = _verdict(b.word, b.level)
    return f'<div class="answer"><h2>{clean(b.ask)} {word}</h2>\n{lines}</div>'


def _verdict(word: str, level: str) -> str:
    return f'<span class="verdict {level}">{clean(word)}</span>'


def _line(p: Line) -> str:
    numbers = "".join(
        f'<span class="n"><i>{clean(f.label)}</i> <b>{clean(f.value)}</b></span> ' for f in p.numbers
    )
    detail = "; ".join(f"{clean(f.label)} {clean(f.value)}" for f in p.detail)
    detail = f"<small>{detail}</small>" if detail else ""
    rest = f"<small>also assumed: {clean('; '.join(p.rest))}</small>" if p.rest else ""
    supply = f'<p class="supply">to supply: {clean("; ".join(p.supply))}</p>' if p.supply else ""
    model = f"<small>by {clean(p.model)}</small>" if p.model else ""
    return (
        f'<div class="proof {p.level}">{_verdict(WORDS[p.level], p.level)}<p><b>{clean(p.name)}</b>. '
        f'{clean(p.sentence)}</p><p class="numbers">{numbers}</p><p><i>breaks first if this is wrong:</i> '
        f"{clean(p.breaks)}</p>{detail}{rest}{supply}{model}</div>\n"
    )


def _pair(b: Pair) -> str:
    left = "\n".join(block(x) for x in b.left)
    right = "\n".join(block(x) for x in b.right)
    cols = f"grid-template-columns:minmax(0,{b.share:g}fr) minmax(0,{1 - b.share:g}fr)"
    return f'<div class="pair" style="{cols}"><div>{left}</div><div>{right}</div></div>'


_DRAW: dict[type, Callable[[Any], str]] = {
    Masthead: _masthead,
    Banner: _banner,
    Tiles: _tiles,
    Facts: _facts,
    Grid: _grid,
    Steps: _steps,
    Lines: _lines,
    Numbered: _numbered,
    Picture: _picture,
    Heading: _heading,
    Answer: _answer,
    Pair: _pair,
}
