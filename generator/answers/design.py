"""A design: as JSON and as text."""

from __future__ import annotations

from typing import Any

from generator.answers.cautions import governed
from generator.answers.numbers import basis_record, number, without_none
from generator.measures.words import NARROW, breakable, plain
from generator.resolve.joined import House
from generator.sheet.design_doses import percent
from generator.sheet.designed import SHOWN, Design, DesignFigure, DesignLimit, DesignLine


def design_record(house: House, design: Design) -> dict[str, Any]:
    """A design as one JSON object; weights in grams. A figure that isn't known as one is an object
    of its least and its most."""
    return {
        "job": design.job,
        "title": _flat(design.title),
        "lines": [_line_record(line) for line in design.lines],
        **{figure.key: _figure_value(figure) for figure in design.figures},
        "limits": [_limit_record(limit) for limit in design.limits],
        "cautions": [
            {
                "id": one.id,
                "severity": one.severity,
                "name": one.name,
                "words": one.words,
                "source": one.source,
            }
            for one in design.cautions
        ],
        "notes": [_flat(note) for note in design.notes],
        "yaml": list(design.yaml),
        "step": list(design.step),
        "basis": {figure.key: basis_record(figure.basis) for figure in design.figures},
        "governs": governed(house),
    }


def _figure_value(figure: DesignFigure) -> Any:
    value = figure.value
    if value.known:
        return number(value.low)
    return {"low": number(value.low), "high": number(value.high)}


def _line_record(line: DesignLine) -> dict[str, Any]:
    found, scale = line.weighing, line.weighing.scale
    return without_none(
        {
            "part": line.part,
            "ingredient": line.food.id,
            "name": line.food.name,
            "exact_g": number(line.exact_g),
            "weighed_g": number(found.grams),
            "weighings": found.count,
            "each_g": number(found.each),
            "scale": scale.id if scale is not None else None,
            "uncertainty_pct": number(found.share * 100) if scale is not None else None,
            "needs_division_g": number(found.needs),
            "composition_source": line.food.source,
            "basis": basis_record(line.basis),
        }
    )


def _limit_record(limit: DesignLimit) -> dict[str, Any]:
    source = limit.source
    return {
        "name": limit.name,
        "bound": limit.bound,
        "limit_ppm": number(limit.row_ppm),
        "printed_ppm": limit.printed,
        "ppm": number(limit.ppm),
        "from_ppm": number(limit.within.low),
        "to_ppm": number(limit.within.high),
        "set": limit.set,
        "verdict": limit.verdict,
        "source": {
            "document": source.document,
            "clause": source.clause,
            "standing": source.standing,
            "read_in": list(source.read_in),
        },
    }


def design_text(house: House, design: Design) -> str:
    """The same for the terminal, every DANGER first."""
    dangers = [f"DANGER: {one.words}" for one in design.cautions if one.severity == "danger"]
    others = [c for c in design.cautions if c.severity != "danger"]
    lines = [
        *dangers,
        *([""] if dangers else []),
        design.title,
        *_weights(design.lines),
        "",
        *(f"{f.words}: {_shown(f)}" for f in design.figures),
        *(f"Limit, {x.name}: {x.words} ({_clause(x)})" for x in design.limits),
        "",
        *_why(design),
        "",
        *_to_paste(design),
        "",
        *(f"{c.severity.upper()}: {c.words}" for c in others),
        *design.notes,
        governed(house),
    ]
    return _flat("\n".join(lines))


def _why(design: Design) -> list[str]:
    """From what the weights follow, each working once."""
    lines = ["Why"]
    for basis in dict.fromkeys(line.basis for line in design.lines if line.basis.inputs):
        said = "; ".join(f"{name}: {words}" for name, words in basis.inputs)
        source = f" ({basis.source})" if basis.source else ""
        lines.append(f"  {said}. {basis.rule[0].upper()}{basis.rule[1:]}{source}.")
    return lines


def _to_paste(design: Design) -> list[str]:
    """The lines for a formula, and those for its step."""
    lines = ["Paste into a formula", *(f"  {one}" for one in design.yaml)]
    if design.step:
        lines += ["And into its step", *(f"  {one}" for one in design.step)]
    return lines


def _clause(limit: DesignLimit) -> str:
    source = limit.source
    if source.clause.startswith(source.document):
        return source.clause
    return f"{source.document}, {source.clause}"


def _weights(lines: tuple[DesignLine, ...]) -> list[str]:
    named = max(len(line.food.name) for line in lines)
    rows: list[str] = []
    part = ""
    for line in lines:
        if line.part != part:
            part = line.part
            rows.append(f"{part[0].upper()}{part[1:]}")
        rows.append(f"  {line.food.name:{named}}  {_weight(line)}")
    return rows


def _weight(line: DesignLine) -> str:
    found, scale = line.weighing, line.weighing.scale
    if scale is None:
        return f"{plain(found.grams, 1)} g"
    times = f"{found.count} × " if found.count > 1 else ""
    exact = f"exactly {plain(line.exact_g, 3)} g"
    return f"{times}{scale.shows(found.each)} {scale.unit} on the {scale.name}; {exact}"


def _shown(figure: DesignFigure) -> str:
    if figure.unit == "pct" and figure.value.known:
        return percent(figure.value.low / 100, 2)
    return f"{figure.value.words(2)}{NARROW}{SHOWN[figure.unit]}"


def _flat(text: str) -> str:
    return breakable(text)
