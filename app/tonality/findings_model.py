"""What is found at the current place, ready to be shown: a view-model without widgets.

Findings come from whoever has the piece analysed (``show_analysis``); what a person says of one
becomes an edit, and the person's words are read from the notebook again after each.
"""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QObject, Signal

from app.desk.desk_model import DeskModel
from app.edits.edit import Edit
from app.edits.judgement_edits import ConfirmFinding, OverruleFinding, WithdrawJudgement
from app.tonality.choosing import AllFound, Entry, chosen, span_of
from app.tonality.finding_words import (
    CHORD_LINE,
    DIRECTIONS,
    Around,
    Told,
    Words,
    as_title,
)
from app.tonality.own_values import own_value as read_own_value
from app.tonality.shown_finding import ShownFinding, short_name
from app.tonality.signs import with_signs
from core.errors import PostilError
from core.notebook.analyses import Analysis
from core.notebook.judgements import judgements_of
from core.notebook.values import AnchorKind, Judgement
from core.score.findings import Finding
from core.score.places import Passage
from core.score.score import Score
from core.score.statements import Statement

ALONE = "You said so of an earlier analysis; nothing that is found here now answers to it."


class FindingsModel(QObject):
    """Findings of the current place.

    Attributes
    ----------
    analysis : Analysis or None
    here : tuple of ShownFinding
        Of the current place; of the piece with nothing selected.
    evidence : tuple of str
        Ids of the notes that are lit, while a "why?" is open.
    left_out : int
        Findings of this place that are not in ``here``, since there are too many.
    progress : str
        What is being looked at ("Looking at keys"); empty when nothing is.
    failure : str
        Why there are no findings, as a sentence; empty while all is well.
    """

    analysis_changed = Signal()
    here_changed = Signal()
    evidence_changed = Signal()
    progress_changed = Signal()
    """Progress or failure says something else."""
    judgement_wanted = Signal(object)
    """An ``Edit`` that the person asked for; the model pushes it itself."""
    judgements_changed = Signal()
    """The notebook's judgements are others: by an edit here, or by its undoing."""

    def __init__(self, desk: DeskModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.analysis: Analysis | None = None
        self.judgements: tuple[Judgement, ...] = ()
        self.here: tuple[ShownFinding, ...] = ()
        self.evidence: tuple[str, ...] = ()
        self.left_out = 0
        self.progress = self.failure = ""
        self._statement: Statement | None = None
        self._found: AllFound | None = None
        self._entries: tuple[Entry, ...] | None = None
        self._words: dict[tuple[int, Statement | None], Words] = {}
        """By the id of a finding of the analysis, and by the statement that is meant."""
        self._shown: tuple[Entry, ...] = ()
        self._open: tuple[str, Passage | None, str] | None = None
        desk.piece_opened.connect(self._on_piece_opened)
        desk.selection_changed.connect(self._on_place_changed)
        desk.score_read.connect(self._on_score_read)
        desk.statement_changed.connect(self._on_statement_changed)
        self.judgement_wanted.connect(self._on_judgement_wanted)

    @property
    def tonality(self) -> str:
        """What leads at the current place, where that is one key or scale; else empty."""
        tonal = [
            shown
            for shown, entry in zip(self.here, self._shown, strict=True)
            if entry.told is not None and entry.told.is_tonal
        ]
        return tonal[0].own_value or tonal[0].title if len(tonal) == 1 else ""

    @property
    def state(self) -> str:
        """What is said while nothing is shown: progress, failure, or that there is nothing."""
        if self.here or self._desk.piece is None:
            return ""
        if self.failure:
            return self.failure
        if self.analysis is None:
            return f"{self.progress}…" if self.progress else ""
        return "Nothing is found here that can be named."

    def show_analysis(
        self,
        analysis: Analysis | None,
        judgements: tuple[Judgement, ...] = (),
        found: AllFound | None = None,
    ) -> None:
        """Take an analysis, or none, and what the person said of it; ``found`` if it is ready."""
        is_other = analysis is not self.analysis
        if not is_other and judgements == self.judgements:
            return
        self.analysis, self.judgements = analysis, judgements
        if analysis is not None:
            self.failure = ""
        self._entries = None
        if is_other:
            self._found = found
            self._words.clear()
            self.analysis_changed.emit()
        self._tell()

    def set_statement(self, statement: Statement | None) -> None:
        """Which sounding of the current place is meant."""
        if statement != self._statement:
            self._statement = statement
            self._tell()

    def set_progress(self, progress: str) -> None:
        """What is being looked at; empty when nothing is."""
        if progress != self.progress:
            self.progress = progress
            self.progress_changed.emit()

    def set_failure(self, error: object) -> None:
        """Why there are no findings: an error, or a sentence; empty takes it back."""
        known = str(error) if isinstance(error, PostilError | str) else "This is a fault of Postil."
        self.failure = f"Nothing could be found out about this piece. {known}" if error else ""
        self.progress_changed.emit()

    def title_of(self, kind: str, passage: Passage | None) -> str:
        """What a finding says that a remark hangs on: its title, or its kind once it is gone."""
        score = self._score()
        if score is not None and self.analysis is not None:
            around = Around(analysis=self.analysis, score=score)
            for entry in self._entries_of(score):
                judged, told = entry.judged, entry.told
                if judged.finding is None or told is None:
                    continue
                if (judged.kind, judged.passage) == (kind, passage):
                    own = judged.own_text if judged.is_overruled else None
                    title = told.words(judged.finding, around).title
                    return with_signs(as_title(own)) if own else short_name(title)
        return kind

    def toggle_why(self, index: int) -> None:
        """Open a finding's "why?" and light its evidence, or close it again."""
        identity = self.here[index].identity
        self._open = None if identity == self._open else identity
        self._tell()

    def close_why(self) -> None:
        """Close what is open."""
        if self._open is not None:
            self._open = None
            self._tell()

    def confirm(self, index: int) -> None:
        """Say so too; said once more, the word is taken back."""
        shown = self.here[index]
        if not self._can_judge(shown):
            return
        if shown.is_confirmed:
            self.withdraw(index)
            return
        judged = self._shown[index].judged
        self.judgement_wanted.emit(
            ConfirmFinding(self._desk, judged.finding, judged.judgement, self._reread)
        )

    def overrule(self, index: int, own_value: str = "") -> None:
        """Say that it is not so, and what it is instead.

        Raises
        ------
        InvalidEntryError
            What it is instead can't be read.
        """
        shown, judged = self.here[index], self._shown[index].judged
        value = read_own_value(shown.kind, own_value)
        if self._can_judge(shown):
            self.judgement_wanted.emit(
                OverruleFinding(
                    self._desk, judged.finding, judged.judgement, self._reread, own_value=value
                )
            )

    def withdraw(self, index: int) -> None:
        """Take the person's word back."""
        judgement = self.here[index].judgement
        if judgement is not None and self._can_judge(self.here[index]):
            self.judgement_wanted.emit(WithdrawJudgement(self._desk, judgement, self._reread))

    def go_to_number(self, number: str) -> None:
        """Make a measure current that a finding names by its printed number."""
        index = self._desk.measure_index_of_number(number)
        if index is not None:
            self._desk.go_to(index)

    # Telling

    def _tell(self) -> None:
        """Put what is found at the current place into words."""
        self._shown, self.left_out = self._chosen()
        shown = tuple(self._words_of(index) for index in range(len(self._shown)))
        if shown != self.here:
            self.here = shown
            self.here_changed.emit()
        lit = next((each.evidence for each in shown if each.is_open), ())
        if lit != self.evidence:
            self.evidence = lit
            self.evidence_changed.emit()

    def _chosen(self) -> tuple[tuple[Entry, ...], int]:
        score = self._score()
        if score is None:
            return (), 0
        selection = self._desk.selection
        span = None if selection is None else span_of(selection.passage, score)
        told, left_out = chosen(self._entries_of(score), self._found_in(score).line, span)
        if selection is not None and selection.kind is AnchorKind.DIRECTION:
            # What is pointed at comes first.
            told = tuple(sorted(told, key=lambda each: not _is_about(each, selection.element_id)))
        return told, left_out

    def _found_in(self, score: Score) -> AllFound:
        assert self.analysis is not None
        if self._found is None:
            self._found = AllFound(self.analysis, score)
        return self._found

    def _entries_of(self, score: Score) -> tuple[Entry, ...]:
        if self._entries is None:
            self._entries = self._found_in(score).entries(self.judgements)
        return self._entries

    def _words_of(self, index: int) -> ShownFinding:
        entry, score = self._shown[index], self._score()
        judged, told = entry.judged, entry.told
        assert self.analysis is not None
        assert score is not None
        finding = judged.finding
        if finding is None or told is None:
            words = Words(title=with_signs(judged.computed_text), why=ALONE)
        else:
            words = self._said_of(finding, told, score)
        identity = (judged.kind, judged.passage, judged.computed_text)
        return ShownFinding(
            kind=judged.kind,
            title=words.title,
            value_text=judged.computed_text,
            confidence=finding.confidence if finding else 0.0,
            passage=judged.passage,
            place=self._place_of(index),
            why=words.why,
            runner_up=words.runner_up,
            evidence=finding.evidence if finding else (),
            degrees=words.degrees,
            judgement=judged.judgement,
            is_leading=index == 0 and told is not None and (told.is_tonal or told is DIRECTIONS),
            not_arguable="" if told is None else told.not_arguable,
            is_found=finding is not None,
            is_open=identity == self._open,
        )

    def _said_of(self, finding: Finding[Any], told: Told, score: Score) -> Words:
        """In words; what was said once of a finding is said again."""
        assert self.analysis is not None
        around = Around(analysis=self.analysis, score=score, statement=self._statement)
        if told is CHORD_LINE:
            return told.words(finding, around)
        key = (id(finding), self._statement)
        if key not in self._words:
            self._words[key] = told.words(finding, around)
        return self._words[key]

    def _place_of(self, index: int) -> str:
        """Where it holds, in words, where several of its kind are told."""
        entry = self._shown[index]
        is_tonal = entry.told is not None and entry.told.is_tonal
        same = sum(
            other.told is entry.told
            or (is_tonal and other.told is not None and other.told.is_tonal)
            for other in self._shown
        )
        passage = entry.judged.passage
        if passage is None or (same < 2 and entry.told is not None):
            return ""
        return self._desk.name_of(passage)

    def _score(self) -> Score | None:
        """The open score, where the analysis is of it."""
        score = self._desk.score
        if score is None or self.analysis is None or score.sha256 != self.analysis.sha256:
            return None
        return score

    # Judging

    def _can_judge(self, shown: ShownFinding) -> bool:
        if not shown.is_arguable:
            self._desk.notice.emit(shown.not_arguable)
        elif self._desk.is_read_only:
            self._desk.notice.emit(
                "This notebook can only be read now, so nothing can be confirmed or overruled."
            )
        else:
            return True
        return False

    def _on_judgement_wanted(self, edit: Edit) -> None:
        edit.push()

    def _reread(self) -> None:
        """Read the person's words again, after a change of the notebook."""
        piece = self._desk.piece
        if piece is not None:
            self.show_analysis(self.analysis, judgements_of(self._desk.store, piece.id))
        self.judgements_changed.emit()

    # Receiving

    def _on_piece_opened(self) -> None:
        """What failed with one piece says nothing of the next."""
        self.set_failure("")
        self._on_place_changed()

    def _on_place_changed(self) -> None:
        self._open = None
        self._tell()

    def _on_score_read(self) -> None:
        self._found = self._entries = None
        self._words.clear()
        self._tell()

    def _on_statement_changed(self) -> None:
        self.set_statement(self._desk.statement)


def _is_about(entry: Entry, element_id: str | None) -> bool:
    """Whether a finding tells what is printed there."""
    finding = entry.judged.finding
    return entry.told is DIRECTIONS and finding is not None and element_id in finding.evidence
