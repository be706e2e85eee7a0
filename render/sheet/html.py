"""The sheet as one HTML file that needs nothing else: readable on a phone, printable, the template at its true size."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable
from html import escape
from typing import Any

import numpy as np

from render.sheet import blocks as b
from render.sheet.template import Drawing, Label, Line
from render.sheet.template_words import HOW, PRINT
from render.sheet.whole_sheet import Sheet

_STYLE = """
:root{color-scheme:light}*{box-sizing:border-box}
body{font:16px/1.4 system-ui,sans-serif;color:#000;background:#fff;max-width:52rem;margin:0 auto;padding:1rem;overflow-wrap:anywhere}
h1{font-size:1.7rem;line-height:1.2;margin:0}h2{font-size:1.5rem;margin:0}h3{font-size:1.15rem;margin:1.6rem 0 .4rem}
p{margin:.4rem 0}.whose,.small,th,.reach dt{color:#555;font-size:.85rem}.lead{font-size:1.1rem}.lesson{font-weight:700}
nav a{display:inline-block;padding:.5rem .9rem .5rem 0}section{border-top:2px solid #000;margin-top:2rem;padding-top:1rem}
ul.ticks,ol{list-style:none;padding:0;margin:0}ul.ticks label{display:flex;gap:.7rem;padding:.35rem 0}
ul.ticks input{width:1.3rem;height:1.3rem;flex:none;margin:.1rem 0}
ol>li{border-top:1px solid #bbb;padding:.6rem 0 .6rem 2.4rem;position:relative}ol>li>b:first-child{position:absolute;left:0}
.reach{display:grid;grid-template-columns:repeat(4,1fr);gap:.2rem 1rem;margin:.4rem 0 0}.reach dd{margin:0 0 1.4rem;border-bottom:0}
.reach div{border-bottom:1px solid #000}.wide{overflow-x:auto}table{border-collapse:collapse;width:100%}
th,td{text-align:right;padding:.35rem .4rem;border-bottom:1px solid #bbb;white-space:nowrap;vertical-align:top}.l{text-align:left}
td.fill{border-bottom:1px solid #000;border-left:1px solid #bbb;min-width:3.5rem}
.signs{display:grid;grid-template-columns:auto 1fr;gap:.5rem 1rem;font-size:1.5rem;font-weight:700;line-height:1.2;margin:0}
.signs dt{font-weight:400;font-size:1rem;color:#555}.signs dd{margin:0;border-bottom:1px solid #bbb;padding-bottom:.4rem}
figure{margin:1rem 0}img{max-width:100%;height:auto}.cautions{border-top:1px solid #000;margin:1.4rem 0 0;padding:.6rem 0 0 1.2rem;font-size:.9rem}
.cautions li{list-style:'!  ';padding:.15rem 0}svg{display:block}
@media (max-width:40rem){.reach{grid-template-columns:repeat(2,1fr)}.signs{grid-template-columns:1fr;gap:.1rem}}
@media print{body{max-width:none;padding:0;font-size:10pt}body>h1,nav{display:none}.signs{font-size:22pt}.signs dt{font-size:12pt}section{break-before:page;border:0;margin:0;padding:0}
.wide{overflow:visible}li,tr,figure{break-inside:avoid}@page{margin:12mm}}
"""
_STROKES = {
    "outline": 'stroke="#000" stroke-width=".25"',
    "mark": 'stroke="#888" stroke-width=".15" stroke-dasharray="1 .5"',
    "thin": 'stroke="#888" stroke-width=".15" stroke-dasharray="3 .7 .5 .7"',
}


def as_html(sheet: Sheet) -> str:
    """The whole sheet as a page of HTML; the same sheet gives the same text."""
    parts = [("template", "Template", _template(sheet))] if sheet.template is not None or sheet.missing else []
    parts += [(card.key, card.title, "".join(_set(block) for block in card.blocks)) for card in sheet.cards]
    names = {"customer": "Customer's card"}
    links = "".join(f'<a href="#{key}">{_t(names.get(key, title))}</a>' for key, title, _ in parts)
    body = "".join(
        f'<section id="{key}"><h2>{_t(title)}</h2><p class="whose">{_t(sheet.title)}</p>{inside}</section>'
        for key, title, inside in parts
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{_t(sheet.title)}: shop sheet</title><style>{_STYLE}</style></head>\n"
        f"<body><h1>{_t(sheet.title)}</h1><nav>{links}</nav>{body}</body></html>\n"
    )


def _t(text: str) -> str:
    return escape(text, quote=True)


def _set(block: b.Block) -> str:
    make: Callable[[Any], str] = _SET[type(block)]
    return make(block)


def _words(block: b.Words) -> str:
    return f'<p class="{block.tone}">{_t(block.text)}</p>'


def _heading(block: b.Heading) -> str:
    return f"<h3>{_t(block.text)}</h3>"


def _ticks(block: b.Ticks) -> str:
    lines = "".join(f'<li><label><input type="checkbox"><span>{_t(one)}</span></label></li>' for one in block.lines)
    return f'<ul class="ticks">{lines}</ul>'


def _tasks(block: b.Tasks) -> str:
    return f"<ol>{''.join(_task(task) for task in block.tasks)}</ol>"


def _task(task: b.Task) -> str:
    lines = "".join(f"<p>{_t(line)}</p>" for line in task.details)
    lines += f"<p>Gate: {_t(task.gate)}</p>" if task.gate else ""
    lines += f'<p class="lesson">{_t(task.lesson)}</p>' if task.lesson else ""
    sizes = "".join(f"<div><dt>{_t(name)}</dt><dd>{_t(size)}</dd></div>" for name, size in task.reach)
    reach = f'<dl class="reach">{sizes}</dl>' if sizes else ""
    return f"<li><b>{_t(task.number)}</b><b>{_t(task.what)}</b>{lines}{reach}</li>"


def _table(block: b.Table) -> str:
    where = lambda k: ' class="l"' if k in block.left else ""  # noqa: E731
    heads = "".join(f"<th{where(k)}>{_t(text)}</th>" for k, text in enumerate(block.heads))
    rows = "".join(
        "<tr>"
        + "".join(f"<td{where(k) if text else ' class=fill'}>{_t(text)}</td>" for k, text in enumerate(row))
        + "</tr>"
        for row in block.rows
    )
    return f'<div class="wide"><table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>'


def _signs(block: b.Signs) -> str:
    return '<dl class="signs">' + "".join(f"<dt>{_t(n)}</dt><dd>{_t(text)}</dd>" for n, text in block.rows) + "</dl>"


def _picture(block: b.Picture) -> str:
    data = b64encode(block.png).decode()
    image = f'<img alt="The blade as it will be etched" width="{block.width}" height="{block.height}" src="data:image/png;base64,{data}">'
    return f'<figure>{image}<figcaption class="small">{_t(block.caption)}</figcaption></figure>'


def _cautions(block: b.Cautions) -> str:
    return '<ul class="cautions">' + "".join(f"<li>{_t(line)}</li>" for line in block.lines) + "</ul>"


def _template(sheet: Sheet) -> str:
    """The template as a drawing in millimetres; on a phone it is moved sideways, never shrunk."""
    if sheet.template is None:
        return "".join(f'<p class="lead">{_t(line)}</p>' for line in sheet.missing)
    words = "".join(f"<p>{_t(line)}</p>" for line in (PRINT, HOW[sheet.units], _LONG))
    return f'{words}<div class="wide">{_svg(sheet.template)}</div>'


_LONG = "In print a knife longer than the page is cut off here; print the PDF for that, its pages overlap."
_BARS = 14.0  # room for the bars over the drawing [mm]


def _svg(drawing: Drawing) -> str:
    left, low, right, top = drawing.box
    wide, tall = max(right - left + 2, 142.0), top - low + 2 + _BARS
    bars = "".join(
        f'<rect x="{x}" y="2" width="{long}" height="2"/><text x="{x}" y="8" font-size="3">{name}: measure me</text>'
        for name, long, x in (("50 mm", 50.0, 1.0), ("2 in", 50.8, 70.0))
    )
    lines = "".join(_path(line, left - 1, top + 1 + _BARS) for line in drawing.lines)
    labels = "".join(_label(label, left - 1, top + 1 + _BARS) for label in drawing.labels)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" height="{tall:.2f}mm" '
        f'viewBox="0 0 {wide:.2f} {tall:.2f}" font-family="system-ui,sans-serif" role="img" aria-label="Template 1:1">'
        f"{bars}{lines}{labels}</svg>"
    )


def _path(line: Line, left: float, top: float) -> str:
    places = np.stack([line.points[0] - left, top - line.points[1]]).T
    points = " ".join(f"{x:.3f},{y:.3f}" for x, y in places)
    return f'<polyline fill="none" points="{points}" {_STROKES[line.stroke]}/>'


def _label(label: Label, left: float, top: float) -> str:
    weight = ' font-weight="700"' if label.bold else ""
    return (
        f'<text x="{label.x - left:.2f}" y="{top - label.y:.2f}" font-size="{label.size}" '
        f'text-anchor="{label.anchor}"{weight}>{_t(label.text)}</text>'
    )


_SET: dict[type, Callable[[Any], str]] = {
    b.Words: _words, b.Heading: _heading, b.Ticks: _ticks, b.Tasks: _tasks, b.Table: _table, b.Signs: _signs,
    b.Picture: _picture, b.Cautions: _cautions,
}  # fmt: skip
