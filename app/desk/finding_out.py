"""What is found out about the open piece, joined to the desk: findings, form line, overlays.

The parts know the desk and not one another; here they are told of each other's news.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.desk.analysing import Analysing
from app.desk.desk_model import DeskModel
from app.desk.selection import Selection
from app.edits.remark_edits import zone
from app.form.form_model import FormModel
from app.score.finding_marks import ShownOverlays
from app.theme import Theme
from app.tonality.choosing import AllFound
from app.tonality.findings_model import FindingsModel
from app.tonality.overlays import OverlayKind, overlays_of
from core.notebook.values import AnchorKind
from core.score.places import Passage
from core.score.statements import Statement

if TYPE_CHECKING:
    from core.notebook.analyses import Analysis
    from core.notebook.values import Judgement


class FindingOut(QObject):
    """The view-models of everything computed, kept in step with the desk.

    Attributes
    ----------
    analysing, findings, form :
        The parts.
    overlays : ShownOverlays
        What the score shows of it.
    shown_kinds : frozenset of OverlayKind
        The kinds of overlay that are not put away.
    """

    overlays_changed = Signal()

    def __init__(self, desk: DeskModel, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk, self._theme = desk, theme
        self.analysing = Analysing(desk, self)
        self.findings = FindingsModel(desk, self)
        self._told: Analysis | None = None
        """The analysis with the person's words, which win wherever it is shown."""
        self._told_of: tuple[Analysis | None, tuple[Judgement, ...]] = (None, ())
        """What it was made of."""
        self.form = FormModel(self)
        self.overlays = ShownOverlays()
        self.shown_kinds = frozenset(OverlayKind)
        self._join()

    @property
    def analysis(self) -> Analysis | None:
        """What was found, where it is there."""
        return self.analysing.analysis

    def put_away(self, kind: OverlayKind, is_away: bool) -> None:
        """Show or hide one kind of overlay."""
        self.shown_kinds = self.shown_kinds - {kind} if is_away else self.shown_kinds | {kind}
        self._show_overlays()

    def overlays_in(self, theme: Theme, kinds: frozenset[OverlayKind]) -> ShownOverlays:
        """What there is to be drawn of some kinds, in the colours of another theme."""
        return overlays_of(self._told, theme, kinds=kinds)

    def choose_passage(self, passage: Passage) -> None:
        """A passage was chosen in the form line."""
        kind = AnchorKind.PLACE if passage.is_point else AnchorKind.PASSAGE
        self._desk.select(Selection(kind=kind, passage=passage))

    def choose_statement(self, statement: Statement | None) -> None:
        """One sounding of the current place was chosen in the form line."""
        self._desk.select(self._desk.selection, statement)

    def statement_order(self, statement: Statement | None) -> tuple[int, ...] | None:
        """The measures of a statement as they are played; None for all as written."""
        if self.analysis is None or statement is None:
            return None
        order = self.analysis.playing_order.measure_indices
        return order[statement.order_start : statement.order_end]

    def shut_down(self) -> None:
        """End what is being computed."""
        self.analysing.shut_down()

    # Receiving

    def _join(self) -> None:
        desk, findings = self._desk, self.findings
        for signal in (desk.piece_opened, desk.score_read):
            signal.connect(lambda: desk.turns.soon(self._take_score))
        desk.remarks_changed.connect(lambda: self.form.set_remarks(desk.numbered()))
        desk.selection_changed.connect(lambda: self.form.set_selection(desk.selection))
        desk.statement_changed.connect(self._on_statement_changed)
        self.analysing.analysed.connect(self._on_analysed)
        self.analysing.judged.connect(self._on_judged)
        self.analysing.progress_changed.connect(findings.set_progress)
        self.analysing.failed.connect(findings.set_failure)
        findings.evidence_changed.connect(self._show_evidence)
        findings.judgements_changed.connect(self._on_judgements_changed)
        self._theme.changed.connect(self._show_overlays)

    def _take_score(self) -> None:
        self.form.set_score(self._desk.score)
        self.form.set_remarks(self._desk.numbered())

    def _on_statement_changed(self) -> None:
        self.form.set_statement(self._desk.statement)
        self.findings.set_statement(self._desk.statement)

    def _on_analysed(self) -> None:
        analysis, score = self.analysing.analysis, self._desk.score
        if analysis is None or score is None:
            self._take_told()
            self._desk.turns.soon(self._show_findings)
        else:
            found = AllFound(analysis, score)
            self._desk.turns.soon(*found.steps(), partial(self._show_findings, found))
            # The system's time zones are read when one is first asked for: not by a judgement.
            self._desk.turns.soon(zone)
        self._desk.turns.soon(self._show_form, self._show_overlays)

    def _show_findings(self, found: AllFound | None = None) -> None:
        analysis, judgements = self.analysing.analysis, self.analysing.judgements
        is_same = found is not None and found.analysis is analysis
        self.findings.show_analysis(analysis, judgements, found if is_same else None)

    def _show_form(self) -> None:
        self._take_told()
        self.form.set_analysis(self._told)
        self.form.set_statement(self._desk.statement)

    def _take_told(self) -> bool:
        """Lay the person's words over the analysis; whether it tells other things then."""
        from core.notebook.told import as_told, words_in_place

        analysis, score = self.analysing.analysis, self._desk.score
        words = words_in_place(self.analysing.judgements)
        if self._told_of[0] is analysis and self._told_of[1] == words:
            return False
        self._told_of = (analysis, words)
        self._told = analysis
        if analysis is not None and score is not None:
            self._told = as_told(analysis, words, score)
        return True

    def _on_judged(self) -> None:
        self._show_findings()
        if self._take_told():
            self._show_form()
            self._show_overlays()

    def _on_judgements_changed(self) -> None:
        """By an edit in the margin, or by its undoing; the margin shows it already."""
        self.analysing.take_judgements(self.findings.judgements)

    def _show_overlays(self) -> None:
        evidence = self.findings.evidence
        self._replace_overlays(
            overlays_of(self._told, self._theme, kinds=self.shown_kinds, evidence=evidence)
        )

    def _show_evidence(self) -> None:
        if self._told is not None:
            self._replace_overlays(replace(self.overlays, evidence=self.findings.evidence))

    def _replace_overlays(self, shown: ShownOverlays) -> None:
        if shown != self.overlays:
            self.overlays = shown
            self.overlays_changed.emit()
