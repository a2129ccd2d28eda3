"""What a page is painted with, taken from the theme."""

from __future__ import annotations

from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QGraphicsView

from app.score.page_marks import PageColors
from app.score.page_painter import PageStyle
from app.theme import Theme


def page_style(theme: Theme, head: tuple[str, str], space_pixels: int) -> PageStyle:
    """For the page's image; ``head`` is title and composer."""
    return PageStyle(
        space_pixels=space_pixels,
        page=theme.page_color("page"),
        printed=theme.page_color("print"),
        quiet=theme.page_color("quiet"),
        serif=lambda size, weight, italic: theme.serif(max(1, round(size)), weight, italic),
        title=head[0],
        byline=head[1],
    )


def page_colors(theme: Theme) -> PageColors:
    """For what is drawn over the image."""
    return PageColors(
        page=theme.page_color("page"),
        edge=theme.page_color("hairline2"),
        here=theme.page_color("here"),
        rule=theme.page_color("print"),
        ink=theme.page_color("ink"),
        graphite=theme.page_color("graphite"),
        wash=theme.page_color("graphite_wash"),
        printed=theme.page_color("print"),
        serif=theme.serif(26),
        number_font=theme.serif(17, 600),
        label_font=theme.sans(11),
    )


def paint_desk(view: QGraphicsView, theme: Theme) -> None:
    """What is seen behind the pages."""
    palette = view.palette()
    palette.setColor(QPalette.ColorRole.Base, theme.color("desk"))
    view.setPalette(palette)
    view.setBackgroundBrush(theme.color("desk"))
