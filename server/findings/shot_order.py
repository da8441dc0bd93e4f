"""Which of two shots came first, as far as anybody wrote it down. Order is asked, never guessed."""

from collections.abc import Iterable

from server.records.shot_facts import ShotFact


class ShotOrder:
    """Answers `earlier(a, b)` for the shots it was given: True, False, or None where nobody knows."""

    def __init__(self, facts: Iterable[ShotFact]) -> None:
        self._spans: dict[str, tuple[int, int]] = {}
        for fact in facts:
            if fact.loosed_at is not None:
                first, last = self._spans.get(fact.walk_id, (fact.loosed_at, fact.loosed_at))
                self._spans[fact.walk_id] = (min(first, fact.loosed_at), max(last, fact.loosed_at))

    def earlier(self, a: ShotFact, b: ShotFact) -> bool | None:
        """Whether a was loosed before b."""
        if a.walk_id != b.walk_id:
            across = self._across(a, b)
            if across is not None:
                return across
        elif a.position is not None and b.position is not None and a.position != b.position:
            return a.position < b.position
        return self._same_phone(a, b)

    def _across(self, a: ShotFact, b: ShotFact) -> bool | None:
        if a.day != b.day:
            return a.day < b.day
        if a.session_id == b.session_id and a.walk_number is not None and b.walk_number is not None:
            # Typed in from paper: the number was called at the range and written down there. The same number on two
            # sheets is one walk.
            return None if a.walk_number == b.walk_number else a.walk_number < b.walk_number
        spans = self._spans.get(a.walk_id), self._spans.get(b.walk_id)
        if spans[0] and spans[1]:
            # Two phones may each have begun a walk for what was one: then their times run into each other.
            if spans[0][1] < spans[1][0]:
                return True
            return False if spans[1][1] < spans[0][0] else None
        if a.walk_begun_at is not None and b.walk_begun_at is not None and a.walk_begun_at != b.walk_begun_at:
            return a.walk_begun_at < b.walk_begun_at
        return None

    @staticmethod
    def _same_phone(a: ShotFact, b: ShotFact) -> bool | None:
        # One phone's own clock orders its own shots; two phones' clocks do not order each other's.
        if a.recorded_by is None or a.recorded_by != b.recorded_by or a.loosed_at is None or b.loosed_at is None:
            return None
        return None if a.loosed_at == b.loosed_at else a.loosed_at < b.loosed_at
