"""How a long text is set: headings in the serif, words in the sans, what is italic in the serif.

Markdown gives a document sizes and weights of Qt's own; here each fragment takes a font of the
theme, and paragraphs the air they need.
"""

from __future__ import annotations

from PySide6.QtGui import (
    QBrush,
    QTextBlock,
    QTextBlockFormat,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
    QTextFrameFormat,
    QTextTable,
)

from app.theme import Theme

HEADINGS = {1: 26, 2: 20, 3: 17}
"""Level to size; the serif, in logical pixels."""
BODY, SERIF_BODY = 13, 15
LINE_HEIGHT = 20
"""Of running text, in pixels: fixed, or each word in the taller serif would push lines apart."""
_ABOVE = {1: 4, 2: 20, 3: 12}
_BELOW_HEADING, _BELOW = 6, 8


def set_in_type(document: QTextDocument, theme: Theme) -> None:
    """Give every block and fragment of a document its type; words stay as they are."""
    document.setDefaultFont(theme.sans(BODY))
    cursor = QTextCursor(document)
    cursor.beginEditBlock()
    block = document.begin()
    while block.isValid():
        _set_block(block, theme)
        block = block.next()
    cursor.endEditBlock()
    for frame in document.rootFrame().childFrames():
        if isinstance(frame, QTextTable):
            _set_table(frame, theme)


def _set_block(block: QTextBlock, theme: Theme) -> None:
    level = block.blockFormat().headingLevel()
    look = QTextBlockFormat()
    look.setTopMargin(_ABOVE.get(level, 0))
    look.setBottomMargin(_BELOW_HEADING if level else _BELOW)
    kinds = QTextBlockFormat.LineHeightTypes
    if not level:
        look.setLineHeight(LINE_HEIGHT, kinds.FixedHeight.value)
    QTextCursor(block).mergeBlockFormat(look)
    # Those with one look become one fragment while they are given it: first all, then each.
    for start, length, given in _fragments(block):
        cursor = QTextCursor(block)
        cursor.setPosition(start)
        cursor.setPosition(start + length, QTextCursor.MoveMode.KeepAnchor)
        cursor.mergeCharFormat(_look(given, level, theme))


def _fragments(block: QTextBlock) -> list[tuple[int, int, QTextCharFormat]]:
    found = []
    iterator = block.begin()
    while not iterator.atEnd():
        fragment = iterator.fragment()
        found.append((fragment.position(), fragment.length(), fragment.charFormat()))
        iterator += 1
    return found


def _look(given: QTextCharFormat, level: int, theme: Theme) -> QTextCharFormat:
    look = QTextCharFormat()
    if level:
        font = theme.serif(HEADINGS.get(level, HEADINGS[3]))
    elif given.fontItalic():
        font = theme.serif(SERIF_BODY, italic=True)
    else:
        font = theme.sans(BODY, 600 if given.fontWeight() > 500 else 400)
    look.setFont(font)
    look.clearProperty(QTextCharFormat.Property.FontSizeAdjustment)
    look.setForeground(QBrush(theme.color("graphite" if given.isAnchor() else "print")))
    look.setFontUnderline(given.isAnchor())
    return look


def _set_table(table: QTextTable, theme: Theme) -> None:
    look = table.format()
    look.setBorder(1)
    look.setBorderCollapse(True)
    look.setBorderStyle(QTextFrameFormat.BorderStyle.BorderStyle_Solid)
    look.setBorderBrush(QBrush(theme.color("hairline")))
    look.setCellPadding(6)
    look.setCellSpacing(0)
    look.setTopMargin(_BELOW)
    look.setBottomMargin(_BELOW)
    table.setFormat(look)
