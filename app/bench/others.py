"""The methods not chosen, in groups below a heading: what they are at the left, who at the right, wrapped, not cut."""

from __future__ import annotations

import re
from typing import NamedTuple

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.window.theme import TEXT, Theme
from inspection.words.say import word

_WRAP = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignTop)
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:in|mm|of)\b)|(?<=of) (?=\d)")
#: Logical pixels of the left column, and of the heading.
_LEFT, _HEADING = 96, 22


class Group(NamedTuple):
    """Methods of one standing. ``items`` go on one wrapped line each after the other; of more than there is room for,
    the rest is counted."""

    name: str
    items: tuple[str, ...]

    def text(self, most: int) -> str:
        """Its first ``most`` items, and how many there are beyond."""
        beyond = len(self.items) - most
        more = (word("bench.others.more", n=beyond),) if beyond > 0 else ()
        return ",  ".join(map(_held_together, (*self.items[:most], *more)))


def _held_together(item: str) -> str:
    """An item whose numbers keep their unit on the same line."""
    return _BEFORE_UNIT.sub("\u00a0", item)


class Others(QWidget):
    """Paints the groups from the top; it is as high as its place and shows what that holds: below a heading where there
    is room for both."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._groups: tuple[Group, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)

    def show_groups(self, groups: tuple[Group, ...]) -> None:
        """Show other groups."""
        if groups != self._groups:
            self._groups = groups
            spoken = "; ".join(f"{group.name}: {', '.join(group.items)}" for group in groups)
            self.setAccessibleDescription(spoken)
            self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.update()

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(200), 0)

    def shown(self) -> tuple[tuple[str, str], ...]:
        """Each group's name and text as painted: what there is room for, the last group's items given up first."""
        return self._fitting(self.height() - self._theme.px(_HEADING)) or self._fitting(self.height())

    def _fitting(self, high: int) -> tuple[tuple[str, str], ...]:
        metrics, wide = QFontMetrics(self._theme.font(TEXT)), self.width() - self._theme.px(_LEFT)
        groups = list(self._groups)
        most = {group.name: len(group.items) for group in groups}
        while groups:
            texts = [(group.name, group.text(most[group.name])) for group in groups]
            if sum(self._high(metrics, text, wide) for _, text in texts) <= high:
                return tuple(texts)
            longest = max(groups, key=lambda group: most[group.name])
            if most[longest.name] > 1:
                most[longest.name] -= 1
            else:
                groups.pop()
        return ()

    def _high(self, metrics: QFontMetrics, text: str, wide: int) -> int:
        return metrics.boundingRect(QRect(0, 0, wide, 9999), _WRAP, text).height() + self._theme.px(3)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, theme = QPainter(self), self._theme
        font, left = theme.font(TEXT), theme.px(_LEFT)
        metrics, top = QFontMetrics(font), 0
        below = self._fitting(self.height() - theme.px(_HEADING))
        if below:
            top = theme.px(_HEADING)
            painter.setFont(theme.font(TEXT, bold=True))
            painter.setPen(theme.color("ink"))
            painter.drawText(QRectF(0, 0, self.width(), top), _WRAP, word("bench.others"))
        painter.setFont(font)
        for name, text in below or self._fitting(self.height()):
            high = self._high(metrics, text, self.width() - left)
            painter.setPen(theme.color("quiet"))
            painter.drawText(QRectF(0, top, left, high), _WRAP, name)
            painter.setPen(theme.color("ink"))
            painter.drawText(QRectF(left, top, self.width() - left, high), _WRAP, text)
            top += high
