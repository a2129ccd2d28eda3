"""Invented files of all formats, good, bad and twice, and a batch of them."""

from __future__ import annotations

import zipfile
from pathlib import Path

from pytestqt.qtbot import QtBot

from app.bringing.batch import Batch
from app.desk.desk_model import DeskModel
from tests.app import small_scores
from tests.core.score.formats.written_humdrum import PIECE
from tests.core.score.formats.written_midi import key, metre, midi, track

PATIENCE_MS = 60_000
"""Workers load large libraries, on a machine that has other things to do."""
TUNE = "X:1\nT:Mill Song\nC:Ottavia Brenn\nM:4/4\nL:1/4\nK:G\nGABc|dcBA|\n"
CONTAINER = (
    '<?xml version="1.0"?><container><rootfiles><rootfile full-path="score.xml"/></rootfiles>'
    "</container>"
)


def write_all(folder: Path) -> Path:
    """Five formats that can be read, two files that can't, one file twice, one laid out anew."""
    folder.mkdir(exist_ok=True)
    small_scores.write(folder, "a.musicxml", "Slow March")
    small_scores.write(folder, "a copy.musicxml", "Slow March")
    write_other_layout(folder / "b other layout.musicxml", "Slow March")
    write_mxl(folder / "c.mxl", other_notes("Rope Dance"))
    (folder / "d.krn").write_text(PIECE, encoding="utf-8")
    (folder / "e.abc").write_text(TUNE, encoding="utf-8")
    (folder / "f.mid").write_bytes(midi(track([(0, 4, 60)], before=[metre(4, 4), key("C")])))
    (folder / "g letter.musicxml").write_bytes(b"Dear pianist")
    (folder / "h cut short.xml").write_bytes(small_scores.four_measures()[:-200])
    (folder / "readme.txt").write_text("nothing")
    return folder


def write_other_layout(path: Path, title: str) -> None:
    """The same notes, with a page break."""
    data = small_scores.four_measures(title)
    path.write_bytes(data.replace(b'number="3">', b'number="3"><print new-page="yes"/>'))


def other_notes(title: str, octave: int = 5) -> bytes:
    """Four measures in another octave."""
    data = small_scores.four_measures(title)
    return data.replace(b"<octave>4", b"<octave>%d" % octave)


def write_mxl(path: Path, data: bytes) -> None:
    """A score in its container."""
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("META-INF/container.xml", CONTAINER)
        packed.writestr("score.xml", data)


def bring_in(qtbot: QtBot, desk: DeskModel, *paths: Path) -> Batch:
    """Bring several files in, and wait until they are through and on the shelf."""
    desk.bring_in(paths)
    return wait(qtbot, desk)


def wait(qtbot: QtBot, desk: DeskModel) -> Batch:
    """Until nothing is read any more and the shelf is as the notebook."""
    qtbot.waitUntil(lambda: not desk.is_reading, timeout=PATIENCE_MS)
    with qtbot.waitSignal(desk.pieces_changed, timeout=PATIENCE_MS):
        desk.fetch_pieces()
    batch = desk.bringing.batch
    assert batch is not None
    return batch
