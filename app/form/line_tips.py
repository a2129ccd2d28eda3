"""Tool tips of the form line: in full what has no room in a lane."""

from __future__ import annotations

from html import escape

from app.desk import place_names
from app.form import line_painter
from app.form.form_model import FormModel
from app.form.line_fonts import LineFonts
from app.form.line_scale import LineScale
from app.form.spoken import key_words
from app.score.page_marks import Certainty
from core.score.places import Passage

SURENESS = {
    Certainty.SOLID: "sure",
    Certainty.DASHED: "fairly sure",
    Certainty.DOTTED: "not sure",
}


def as_plain(text: str) -> str:
    """Text for a tool tip that shows it as it is, wrapped: what looks like HTML stays text."""
    return f"<p style='white-space: pre-wrap'>{escape(text)}</p>" if text else ""


def tip(model: FormModel, scale: LineScale, x: float, y: float, fonts: LineFonts) -> str:
    """What is said of a place of the line, by its lane."""
    moment = scale.quarters(x)
    if y < line_painter.BOX_TOP:
        return _measure(model, moment)
    if y <= line_painter.BOX_BOTTOM:
        return _box(model, moment)
    if y <= line_painter.CERTAINTY_TOP + 4:
        return _key(model, moment)
    if y <= line_painter.WORDS_BASE + 6:
        return _words(model, scale, x, fonts)
    return ""


def remark_tip(model: FormModel, remark_id: int) -> str:
    """A remark with its number."""
    marks = (mark for mark in model.remarks if mark.remark_id == remark_id)
    return next((f"{mark.number}  {mark.body}" for mark in marks), "")


def _measure(model: FormModel, moment: float) -> str:
    if model.score is None or model.time is None:
        return ""
    index = model.time.order[model.time.position_at(moment)]
    return place_names.passage_name(model.score, Passage.of_measures(index, index))


def _box(model: FormModel, moment: float) -> str:
    box = model.box_at(moment)
    if box is None:
        return ""
    words = model.spoken_box(box)
    if box.statement is None or box.certainty is Certainty.SOLID:
        return words
    return f"{words}\n{SURENESS[box.certainty]}"


def _key(model: FormModel, moment: float) -> str:
    key = model.key_at(moment)
    if key is None:
        return ""
    # Text fonts have no accidentals: they are said in words.
    return f"{key_words(key.name)}, {SURENESS[key.certainty]}"


def _words(model: FormModel, scale: LineScale, x: float, fonts: LineFonts) -> str:
    """The entry under the pointer, and whatever is printed in the measure there."""
    if model.time is None:
        return ""
    index = model.time.order[model.time.position_at(scale.quarters(x))]
    under = [
        entry.words
        for entry in line_painter.fitted_words(model, scale, fonts)
        if entry.x - 2 <= x <= entry.x + entry.width + 2
    ]
    here = [words for words in model.words if words.measure_index == index]
    shown = [*under, *(words for words in here if words not in under)]
    return "\n".join(f"{_measure(model, words.at)}: {words.text}" for words in shown)
