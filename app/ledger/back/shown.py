"""The plots of a row: in time, with a line that tells the result at hand, or as a histogram."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QLabel, QStackedLayout, QVBoxLayout, QWidget

from app.ledger.back import charts, told
from app.ledger.back.work import RowLooked
from app.parts.histogram import HistogramView
from app.parts.plot import Plot, PlotView, in_line
from app.window.theme import TEXT, Theme
from inspection.words.say import word


class RowShown(QWidget):
    """Values in time above their moving ranges, or the histogram. The result at hand is marked in both and told below;
    keys and the mouse lead to it."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self.looked: RowLooked | None = None
        self.places: tuple[int, ...] = ()
        self.at: int | None = None
        self.plot = PlotView(word("ledger.rows.chart"), theme, self)
        self.ranges = PlotView(word("ledger.rows.ranges"), theme, self)
        self.histogram = HistogramView(word("ledger.rows.histogram"), theme, self)
        self.line = QLabel(self)
        self.line.setWordWrap(True)
        self.line.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._time = QWidget(self)
        self._inside = QVBoxLayout(self._time)
        self._inside.setContentsMargins(0, 0, 0, 0)
        for widget, share in ((self.plot, 5), (self.ranges, 2), (self.line, 0)):
            self._inside.addWidget(widget, share)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(self._time)
        self._stack.addWidget(self.histogram)
        for plot in (self.plot, self.ranges):
            plot.pointed.connect(self.go)

    def sizeHint(self) -> QSize:
        """What the page below leaves it: two plots ask for more than they need."""
        return QSize(self.theme.px(480), self.theme.px(260))

    def hasHeightForWidth(self) -> bool:
        """The line that is broken has room for two lines, however wide it is."""
        return False

    @property
    def spread(self) -> bool:
        """Whether the histogram is shown."""
        return self._stack.currentWidget() is self.histogram

    def turn_to(self, *, spread: bool) -> None:
        """Show the histogram, or the values in time."""
        self._stack.setCurrentWidget(self.histogram if spread else self._time)

    def show_row(self, looked: RowLooked | None) -> None:
        """Show another row, or the same one anew; nothing of one without a number."""
        same = looked is not None and self.looked is not None and looked.series.results == self.looked.series.results
        self.looked = looked
        self.places = charts.shown_places(looked.series) if looked is not None else ()
        self.at = self.at if same else None
        self.setVisible(bool(self.places))
        if looked is None or not self.places:
            for plot in (self.plot, self.ranges):
                plot.show_plot(Plot())
            self.histogram.show_bars(None)
            return
        series = looked.series
        self.plot.show_plot(charts.time_plot(series, looked.plans))
        self.ranges.show_plot(charts.range_plot(series))
        self.ranges.setVisible(series.chart is not None)
        self.plot.sides = self.ranges.sides = in_line((self.plot.shown(), self.ranges.shown()), self.theme)
        self.histogram.show_bars(charts.bars_of(series, looked.told.step, normal=looked.told.normal))
        self._tell()

    # --- the result at hand -----------------------------------------------------------------------------------------

    def place(self) -> int | None:
        """The place in the series of the result at hand, None before one was gone to."""
        return self.places[self.at - 1] if self.at is not None else None

    def step(self, by: int) -> None:
        """Go on from result to result; the first step back leads to the last one."""
        if self.places:
            if self.at is None:
                self.go(len(self.places) if by < 0 else 1)
            else:
                self.go(min(max(self.at + by, 1), len(self.places)))

    def go(self, at: int) -> None:
        """Go to a result by its place across."""
        self.at = at
        self._tell()

    def _tell(self) -> None:
        for plot in (self.plot, self.ranges):
            plot.point_at(self.at)
        text, place = word("ledger.rows.point.none"), self.place()
        if self.looked is not None and place is not None and self.at is not None:
            text = told.point_line(self.looked, place, self.at, len(self.places))
        self.line.setText(text)
        self.line.setAccessibleName(text)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        self.theme = theme
        self._inside.setSpacing(theme.px(6))
        self.ranges.setMinimumHeight(theme.px(88))
        self.line.setFixedHeight(2 * QFontMetrics(theme.font(TEXT)).lineSpacing())
        for plot in (self.plot, self.ranges, self.histogram):
            plot.take_theme(theme)
