"""Workbooks in: what a cell shows as text, or why it may not be taken; nothing is rounded, computed or guessed.

The parts are read here and not by openpyxl, which writes our workbooks: it makes dates and floats of cells before one
could see what stands in the file, does not read the strict form of the standard, joins runs of any look, and keeps
whole parts in memory before anything could be refused.

``kinds`` tells what a file is, ``package`` unpacks it within limits, ``markup`` streams its parts; ``styles``,
``formats`` and ``texts`` say what cells look like, ``worksheet`` what they hold, ``cells`` what may be taken; ``book``
puts the parts together and ``table`` finds the sheet.
"""
