"""Draws the icon in every size from ``resources/icons/postil.svg``.

For contributors, after the drawing was changed: ``python -m tests.pictures.draw_icons``.
"""

from __future__ import annotations

import os

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QGuiApplication, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from app.commands_desktop import ICON_SIZES
from core.resources import resources


def main() -> None:
    """Write them beside the drawing."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    application = QGuiApplication([])
    folder = resources() / "icons"
    drawing = QSvgRenderer(str(folder / "postil.svg"))
    for size in ICON_SIZES:
        picture = QImage(size, size, QImage.Format.Format_ARGB32)
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        drawing.render(painter, QRectF(0, 0, size, size))
        painter.end()
        picture.save(str(folder / f"postil-{size}.png"))
    del application


if __name__ == "__main__":
    main()
