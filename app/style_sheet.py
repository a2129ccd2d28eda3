"""The window's style sheet as a table: which widget takes which token.

Selectors name widgets by object name or by the property ``role``; sizes are logical pixels.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtGui import QColor

Rules = Mapping[str, Mapping[str, str]]

RULES: Rules = {
    "QMainWindow, #desk": {"background": "{desk}"},
    "#topLine": {"background": "{panel}", "border-bottom": "1px solid {hairline}"},
    "#shelf": {"background": "{panel}", "border-right": "1px solid {hairline}"},
    "#here": {"background": "{panel}", "border-left": "1px solid {hairline}"},
    "QLabel": {"color": "{print}", "background": "transparent"},
    "QLabel[role='quiet']": {"color": "{quiet}"},
    "QLabel[role='graphite']": {"color": "{graphite}"},
    "QLabel[role='ink']": {"color": "{ink}"},
    "QLabel[role='key']": {
        "color": "{quiet}",
        "border": "1px solid {hairline}",
        "border-radius": "3px",
        "padding": "1px 4px",
    },
    "QLabel[role='chosen']": {"color": "{print}", "border-bottom": "2px solid {print}"},
    "QPushButton": {
        "color": "{print}",
        "background": "{panel}",
        "border": "1px solid {hairline}",
        "border-radius": "4px",
        "padding": "4px 12px",
    },
    "QPushButton:hover": {"background": "{field}"},
    "QPushButton:focus": {"border": "2px solid {print}"},
    "QPushButton:pressed": {"background": "{hairline2}"},
    "QRadioButton, QCheckBox": {
        "color": "{print}",
        "spacing": "8px",
        "border": "1px solid transparent",
        "border-radius": "4px",
        "padding": "0 4px",
    },
    "QRadioButton:focus, QCheckBox:focus": {"border": "1px solid {print}"},
    "QRadioButton::indicator, QCheckBox::indicator": {
        "width": "12px",
        "height": "12px",
        "border": "1px solid {quiet}",
        "background": "{field}",
    },
    "QRadioButton::indicator": {"border-radius": "7px"},
    "QRadioButton::indicator:checked": {
        "width": "6px",
        "height": "6px",
        "border": "4px solid {print}",
    },
    "QCheckBox::indicator:checked": {"background": "{print}", "border": "1px solid {print}"},
    "QPushButton[role='act']": {"padding": "0 16px"},
    "QProgressBar": {"background": "{hairline2}", "border": "none", "border-radius": "3px"},
    "QProgressBar::chunk": {"background": "{graphite}", "border-radius": "3px"},
    "QPushButton[role='toggle']": {
        "color": "{quiet}",
        "background": "transparent",
        "border": "none",
        "text-align": "left",
        "padding-left": "12px",
    },
    "QPushButton[role='toggle']:hover, QPushButton[role='toggle']:focus": {"color": "{print}"},
    "QPushButton[role='link']": {
        "color": "{graphite}",
        "background": "transparent",
        "border": "none",
        "padding": "2px 4px",
        "text-decoration": "underline",
    },
    "QPushButton[role='link']:hover, QPushButton[role='link']:focus": {"color": "{print}"},
    "QPushButton[role='kind']": {
        "color": "{quiet}",
        "background": "transparent",
        "border": "none",
        "border-bottom": "2px solid transparent",
        "border-radius": "0",
        "padding": "6px 5px 4px 5px",
    },
    "QPushButton[role='kind']:hover": {"color": "{ink}"},
    "QPushButton[role='kind']:checked": {
        "color": "{ink}",
        "border-bottom": "2px solid {ink}",
    },
    "#doField, #writingBox, QLineEdit": {
        "background": "{field}",
        "color": "{print}",
        "border": "1px solid {hairline}",
        "border-radius": "4px",
    },
    "#doField:focus": {"border": "1px solid {print}"},
    "QLineEdit": {"padding": "3px 6px", "selection-background-color": "{graphite}"},
    "#shelf QLineEdit": {"margin": "0 8px"},
    "#palette": {
        "background": "{field}",
        "border": "1px solid {graphite}",
        "border-radius": "4px",
    },
    "#palette QLineEdit": {"border": "none", "padding": "0"},
    "#palette QListView, #palette QTreeView, #palette QPlainTextEdit": {
        "background": "{field}",
        "color": "{print}",
        "border": "none",
    },
    "#palette QTreeView::item, #palette QListWidget::item": {"min-height": "28px"},
    "#palette QListWidget": {"outline": "none"},
    "#palette QListWidget::item": {
        "border-left": "2px solid transparent",
        "padding-left": "6px",
    },
    "#palette QListWidget::item:selected": {"border-left": "2px solid {print}"},
    "QTreeView::item:selected, #palette QListWidget::item:selected": {
        "background": "{here}",
        "color": "{print}",
    },
    "QHeaderView::section": {
        "background": "{field}",
        "color": "{quiet}",
        "border": "none",
        "border-bottom": "1px solid {hairline}",
        "padding": "4px",
    },
    "#pieces": {"background": "transparent", "border": "none"},
    "#bringingHead": {"background": "{panel}", "border-bottom": "1px solid {hairline}"},
    "#fileTable": {
        "background": "transparent",
        "border": "none",
        "selection-background-color": "transparent",
    },
    "#fileTable QHeaderView": {"background": "transparent"},
    "#fileTable QHeaderView::section": {"background": "transparent", "padding": "4px 8px"},
    "QListView": {"background": "{panel}", "color": "{print}"},
    "#here QListView": {"background": "transparent", "border": "none"},
    "#here QListView::item": {"padding": "4px 0"},
    "#here QListView::item:selected": {"background": "{here}", "color": "{print}"},
    "QAbstractScrollArea::corner": {"background": "{desk}", "border": "none"},
    "QTextEdit": {"background": "transparent", "border": "none"},
    "QFrame[role='banner']": {
        "background": "{panel}",
        "border": "1px solid {hairline}",
        "border-radius": "3px",
    },
    "QFrame[role='rule']": {"background": "{hairline}", "border": "none"},
    "QScrollArea, QScrollArea > QWidget > QWidget": {
        "background": "transparent",
        "border": "none",
    },
    "QToolTip": {
        "background": "{panel}",
        "color": "{print}",
        "border": "1px solid {hairline}",
        "padding": "4px",
    },
    "QMenu": {"background": "{panel}", "color": "{print}", "border": "1px solid {hairline}"},
    "QMenu::item": {"padding": "6px 24px 6px 12px"},
    "QMenu::item:selected": {"background": "{here}"},
    "QMenu::item:disabled": {"color": "{quiet}"},
    "QScrollBar:vertical": {"background": "transparent", "width": "10px", "margin": "0"},
    "QScrollBar:horizontal": {"background": "transparent", "height": "10px", "margin": "0"},
    "QScrollBar::handle": {"background": "{hairline}", "border-radius": "3px", "margin": "2px"},
    "QScrollBar::handle:vertical": {"min-height": "28px"},
    "QScrollBar::handle:horizontal": {"min-width": "28px"},
    "QScrollBar::handle:hover": {"background": "{quiet}"},
    "QScrollBar::add-line, QScrollBar::sub-line": {"width": "0", "height": "0"},
    "QScrollBar::add-page, QScrollBar::sub-page": {"background": "transparent"},
}


def style_sheet(color: Callable[[str], QColor]) -> str:
    """QSS of all rules, each token in braces replaced by its colour."""
    return "\n".join(
        f"{selector} {{ {_declarations(body, color)} }}" for selector, body in RULES.items()
    )


def _declarations(body: Mapping[str, str], color: Callable[[str], QColor]) -> str:
    return " ".join(f"{name}: {_filled(value, color)};" for name, value in body.items())


def _filled(value: str, color: Callable[[str], QColor]) -> str:
    while "{" in value:
        before, rest = value.split("{", 1)
        role, after = rest.split("}", 1)
        value = before + _rgba(color(role)) + after
    return value


def _rgba(color: QColor) -> str:
    return f"rgba({color.red()}, {color.green()}, {color.blue()}, {color.alpha()})"
