"""The pages that go out, drawn from the very bytes: the one looked at first, its neighbours when there is time."""

from __future__ import annotations

from collections import OrderedDict
from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QImage, QPainter, QPaintEvent, QPen, QResizeEvent, QShowEvent, QWheelEvent
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

from app.background.worker import Failure, Job
from app.desk.pictures import Picture, page_sizes, picture
from app.jobs.sending import Made
from app.window.house import House
from app.window.theme import TEXT, Theme
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.door import Book

#: How much closer one key brings a page, and the nearest it comes, both of the page seen whole.
STEP, NEAREST = 1.25, 6.0
#: Pictures kept; one at a time is looked at, its neighbours are kept ready.
MOST_KEPT = 6
#: The largest picture drawn at once, in pixels: beyond it the nearest picture is stretched.
MOST_PIXELS = 40_000_000
MARGIN = 18


class Drawing(NamedTuple):
    """Draw a page of a file; ``key`` is the page and the pixels a point in thousandths."""

    made: Made
    key: tuple[int, int]

    def run(self, _book: Book) -> tuple[Drawing, Picture]:
        """On the book's thread."""
        return self, picture(self.made.content, self.key[0], self.key[1] / 1000)


class PagesView(QAbstractScrollArea):
    """One page at a time on white paper, whichever the theme. ``turned`` carries the page at hand and their number."""

    turned = Signal(int, int)

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.made: Made | None = None
        self.sizes: tuple[tuple[float, float], ...] = ()
        self.page = 0
        self.zoom = 1.0
        self._kept: OrderedDict[tuple[int, int], QImage] = OrderedDict()
        self._wanted: tuple[int, int] | None = None
        self._job: Job | None = None
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._draw_next)
        self.setAccessibleName(word("desk.face.pages"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFrameShape(self.Shape.NoFrame)
        self.verticalScrollBar().setSingleStep(40)
        self.horizontalScrollBar().setSingleStep(40)

    # --- what is shown ----------------------------------------------------------------------------------------------

    def show_made(self, made: Made | None) -> None:
        """Show the pages of a file, None for none; the page at hand is kept where there is one of its number."""
        if made is self.made:
            return
        before = self.made
        self.made = made
        self._stop()
        self._kept.clear()
        if made is None or before is None or made.sheet.identity != before.sheet.identity:
            self.page = 0
        if made is None:
            self.sizes = ()
            self._show_range()
        elif self.house.worker is not None:
            content = made.content
            self.house.worker.read(lambda _book: (made, page_sizes(content)), self._measured, self._failed)

    def _measured(self, found: tuple[Made, tuple[tuple[float, float], ...]]) -> None:
        made, sizes = found
        if made is self.made:
            self.sizes = sizes
            self.page = min(self.page, max(0, len(sizes) - 1))
            self._show_range()

    def shown(self, page: int) -> QImage | None:
        """The picture of a page (from 0) at the size it is looked at, None until it is drawn."""
        return self._kept.get((page, self._dots_key(page)))

    # --- moving -----------------------------------------------------------------------------------------------------

    def turn_to(self, page: int) -> None:
        """To a page, as near as there is one; its top is shown."""
        page = min(max(page, 0), max(0, len(self.sizes) - 1))
        if page != self.page:
            self.page = page
            self.verticalScrollBar().setValue(0)
            self._show_range()

    def before(self) -> None:
        """To the page before."""
        self.turn_to(self.page - 1)

    def after(self) -> None:
        """To the page after."""
        self.turn_to(self.page + 1)

    def first(self) -> None:
        """To the first page."""
        self.turn_to(0)

    def last(self) -> None:
        """To the last page."""
        self.turn_to(len(self.sizes) - 1)

    def closer(self) -> None:
        """Closer by one step."""
        self._zoom_to(self.zoom * STEP)

    def farther(self) -> None:
        """Farther by one step."""
        self._zoom_to(self.zoom / STEP)

    def whole(self) -> None:
        """As large as the page is seen whole."""
        self._zoom_to(1.0)

    def _zoom_to(self, zoom: float) -> None:
        zoom = min(max(zoom, 1.0), NEAREST)
        if abs(zoom - self.zoom) < 1e-6:
            return
        bars = (self.horizontalScrollBar(), self.verticalScrollBar())
        kept = [(bar.value() + bar.pageStep() / 2) / max(1, bar.maximum() + bar.pageStep()) for bar in bars]
        self.zoom = zoom
        self._show_range()
        for bar, part in zip(bars, kept, strict=True):
            bar.setValue(round(part * (bar.maximum() + bar.pageStep()) - bar.pageStep() / 2))

    # --- sizes ------------------------------------------------------------------------------------------------------

    def _fit(self, page: int) -> float:
        """Logical pixels a point at which a page is seen whole."""
        wide, high = self.sizes[page]
        margin = 2 * self.house.theme.px(MARGIN)
        room = self.maximumViewportSize()
        return max(0.05, min((room.width() - margin) / wide, (room.height() - margin) / high))

    def _scale(self, page: int) -> float:
        return self._fit(page) * self.zoom

    def _dots_key(self, page: int) -> int:
        """The pixels of the screen a point, in thousandths."""
        if not 0 <= page < len(self.sizes):
            return 0
        wide, high = self.sizes[page]
        most = sqrt(MOST_PIXELS / (wide * high))
        return int(min(self._scale(page) * self.devicePixelRatioF(), most) * 1000)

    def _show_range(self) -> None:
        """Another page, size or room."""
        if self.sizes:
            wide, high = self.sizes[self.page]
            scale, margin, room = self._scale(self.page), 2 * self.house.theme.px(MARGIN), self.maximumViewportSize()
            for bar, size, seen in (
                (self.horizontalScrollBar(), wide * scale + margin, room.width()),
                (self.verticalScrollBar(), high * scale + margin, room.height()),
            ):
                bar.setRange(0, max(0, round(size - seen)) if self.zoom > 1 else 0)
                bar.setPageStep(seen)
        self.setAccessibleDescription(word("desk.page", page=self.page + 1, pages=len(self.sizes)))
        self.turned.emit(self.page, len(self.sizes))
        self.viewport().update()
        self._soon.start()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._show_range()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._soon.start()

    # --- drawing on the book's thread -------------------------------------------------------------------------------

    def _draw_next(self) -> None:
        """Have the page at hand drawn, then the one after and the one before."""
        if self.made is None or self.house.worker is None or not self.isVisible():
            return
        near = [page for page in (self.page, self.page + 1, self.page - 1) if 0 <= page < len(self.sizes)]
        wanted = next((key for page in near if (key := (page, self._dots_key(page))) not in self._kept), None)
        if wanted is None or wanted == self._wanted:
            return
        self._stop()
        self._wanted = wanted
        self._job = self.house.worker.read(Drawing(self.made, wanted).run, self._drawn, self._failed)

    def _drawn(self, found: tuple[Drawing, Picture]) -> None:
        (made, key), drawn = found
        if key == self._wanted:
            self._wanted, self._job = None, None
        if made is not self.made:
            return
        image = QImage(drawn.pixels, drawn.width, drawn.height, drawn.stride, QImage.Format.Format_RGB32).copy()
        self._kept[key] = image
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)
        self.viewport().update()
        self._soon.start()

    def _failed(self, failure: Failure) -> None:
        self._wanted, self._job = None, None
        self.house.fail(failure)

    def _stop(self) -> None:
        if self._job is not None:
            self._job.stop()
        self._wanted, self._job = None, None

    # --- look -------------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        theme = self.house.theme
        painter = QPainter(self.viewport())
        painter.fillRect(self.viewport().rect(), theme.color("rail"))
        if not self.sizes:
            return
        box = self._place()
        painter.fillRect(box, Qt.GlobalColor.white)
        image = self.shown(self.page) or self._nearest()
        if image is not None:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(box, image)
        else:
            painter.setPen(Qt.GlobalColor.darkGray)
            painter.setFont(theme.font(TEXT))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, word("desk.page.drawing"))
        painter.setPen(QPen(theme.color("edge"), 1))
        painter.drawRect(box.adjusted(-0.5, -0.5, 0.5, 0.5))

    def _place(self) -> QRectF:
        """Where the page lies, on whole pixels of the screen so that its text stays sharp."""
        wide, high = (side * self._scale(self.page) for side in self.sizes[self.page])
        room, margin = self.viewport().size(), self.house.theme.px(MARGIN)
        left = max((room.width() - wide) / 2, margin) - self.horizontalScrollBar().value()
        top = max((room.height() - high) / 2, margin) - self.verticalScrollBar().value()
        ratio = self.devicePixelRatioF()
        image = self.shown(self.page)
        if image is not None:
            wide, high = image.width() / ratio, image.height() / ratio
        return QRectF(round(left * ratio) / ratio, round(top * ratio) / ratio, wide, high)

    def _nearest(self) -> QImage | None:
        """A picture of the page at another size, until the right one is drawn."""
        return next((image for (page, _dots), image in reversed(self._kept.items()) if page == self.page), None)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """With Ctrl closer or farther; else up and down the page, and on to the next at its end."""
        turns = event.angleDelta().y()
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.closer() if turns > 0 else self.farther()
            return
        bar = self.verticalScrollBar()
        if turns < 0 and bar.value() >= bar.maximum():
            self.after()
        elif turns > 0 and bar.value() <= 0:
            self.before()
        else:
            super().wheelEvent(event)

    def scrollContentsBy(self, _dx: int, _dy: int) -> None:
        self.viewport().update()

    def sizeHint(self) -> QSize:
        return QSize(self.house.theme.px(600), self.house.theme.px(460))

    def minimumSizeHint(self) -> QSize:
        return QSize(self.house.theme.px(80), self.house.theme.px(60))

    def take_theme(self, _theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._show_range()
