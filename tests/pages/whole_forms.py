"""Every control of every form of a page, as a browser would send it: for tests that send forms they know nothing of."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from html.parser import HTMLParser

Pairs = list[tuple[str, str]]


@dataclass
class Control:
    """One control, or all boxes or keys of one name. `options`: what may be picked; `picked`: what is, or the text."""

    name: str
    kind: str  # hidden, number, text, date, lines, select, radio, checkbox, file
    options: list[str] = field(default_factory=list)
    picked: list[str] = field(default_factory=list)

    @property
    def typed(self) -> bool:
        return self.kind not in ("hidden", "file")


@dataclass
class Form:
    """`again`: where it is sent for its fields to be drawn again, or ""."""

    action: str
    method: str
    again: str = ""
    controls: dict[str, Control] = field(default_factory=dict)

    def sends(self) -> Pairs:
        """What it would send as it stands."""
        return [(one.name, value) for one in self.controls.values() for value in one.picked if one.kind != "file"]


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.form: Form | None = None
        self.select: Control | None = None
        self.area: Control | None = None
        self.hidden_at = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = {name: value or "" for name, value in attrs}
        if tag == "template":
            self.hidden_at += 1  # only a script brings it to light
        if tag == "form" and not self.hidden_at:
            self.form = Form(at.get("action", ""), at.get("method", "get").lower())
            self.forms.append(self.form)
        if self.form is None or self.hidden_at or "disabled" in at:
            return
        if tag == "input" and at.get("name"):
            self._input(self.form, at)
        elif tag == "button" and at.get("formaction"):
            self.form.again = at["formaction"]
        elif tag == "select":
            self.select = self.form.controls.setdefault(at["name"], Control(at["name"], "select"))
        elif tag == "option" and self.select is not None:
            self.select.options.append(at.get("value", ""))
            if "selected" in at:
                self.select.picked.append(at.get("value", ""))
        elif tag == "textarea":
            self.area = self.form.controls.setdefault(at["name"], Control(at["name"], "lines", picked=[""]))

    def _input(self, form: Form, at: dict[str, str]) -> None:
        kind = at.get("type", "text")
        if kind in ("radio", "checkbox"):
            one = form.controls.setdefault(at["name"], Control(at["name"], kind))
            one.options.append(at.get("value", "on"))
            if "checked" in at:
                one.picked.append(at.get("value", "on"))
            return
        if kind == "text" and at.get("inputmode") in ("decimal", "numeric"):
            kind = "number"
        kind = kind if kind in ("hidden", "number", "date", "file") else "text"
        one = form.controls.setdefault(at["name"], Control(at["name"], kind))
        one.picked.append(at.get("value", ""))

    def handle_data(self, data: str) -> None:
        if self.area is not None:
            self.area.picked[0] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.form = None
        elif tag == "template":
            self.hidden_at -= 1
        elif tag == "select" and self.select is not None:
            if not self.select.picked and self.select.options:
                self.select.picked = self.select.options[:1]
            self.select = None
        elif tag == "textarea" and self.area is not None:
            # The parser of a browser drops one line end at the start of a text box.
            self.area.picked[0] = self.area.picked[0].replace("\r\n", "\n").removeprefix("\n")
            self.area = None


def forms_on(page: str) -> list[Form]:
    reader = _Reader()
    reader.feed(page)
    return reader.forms


def filled(form: Form, *, flipped: bool) -> Pairs:
    """Every control with something in it; what stands there stays, unless boxes are `flipped`. Texts look like JSON.

    A filter keeps what it says: a view of nothing is another mistake.
    """
    return [
        (one.name, value) for one in form.controls.values() for value in (one.picked if form.method == "get" else _filled(one, flipped))
    ]


_TEXTS = {"number": "12", "date": "2026-10-24", "text": "[7]", "lines": '[3, 4]\n{"a": "no"}'}


def _filled(one: Control, flipped: bool) -> list[str]:
    if one.kind == "file":
        return []
    if one.kind == "checkbox":
        return [value for value in one.options if (value in one.picked) != flipped]
    if one.kind in ("select", "radio"):
        return one.picked if any(one.picked) else one.options[-1:]
    return [value or _TEXTS.get(one.kind, "") for value in one.picked]


_WRONG = {
    "number": ("a good deal",),
    "date": ("yesterday",),
    "text": ("x" * 2500, ""),
    "lines": ("x" * 2500, ""),
    "select": ("", "x"),
    "radio": ("x",),
    "checkbox": ("x",),
    # A reason may be as long as it likes; some acts go through without one.
    "reason": ("", "x", ""),
}


def mistakes(form: Form) -> list[tuple[str, str]]:
    """Name of a control and what to send in it that may be refused, the likeliest first."""
    kinds = ["number", "date", "text", "lines", "select", "radio", "checkbox"]
    controls = sorted((one for one in form.controls.values() if one.typed), key=lambda one: kinds.index(one.kind))
    return [(one.name, wrong) for one in controls for wrong in (_WRONG["reason"] if one.name == "reason" else _WRONG[one.kind])]


def with_mistake(pairs: Pairs, name: str, wrong: str) -> Pairs:
    return [pair for pair in pairs if pair[0] != name] + [(name, wrong)]


def lost(sent: Pairs, back: Form, *, but: set[str]) -> list[str]:
    """What differs between what was sent and what the form that came back would send."""

    def counted(pairs: Pairs) -> Counter[tuple[str, str]]:
        return Counter((name, value.replace("\r\n", "\n")) for name, value in pairs if name not in but)

    before, after = counted(sent), counted(back.sends())
    # Controls that the answer offers besides may stand there, with nothing in them.
    known = {name for name, _ in sent}
    after = Counter({(name, value): n for (name, value), n in after.items() if value or name in known})
    return [f"{name}={value!r} was sent and is gone" for name, value in before - after] + [
        f"{name}={value!r} came back and was not sent" for name, value in after - before
    ]
