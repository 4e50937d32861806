"""Whether two results of one thing agree within their uncertainties."""

from __future__ import annotations

from fractions import Fraction


def e_n_square(first: int, second: int, first_expanded: int, second_expanded: int) -> Fraction:
    """The square of E_n = (x₁ − x₂) / √(U₁² + U₂²) of two results of the same thing, U with coverage factor 2; all in
    counts. Over 1 they differ by more than their uncertainties let expect.

    Source: ISO 13528 (E_n scores) and ISO/IEC 17043, from memory. An error that both results share, as that of one
    instrument used twice, drops out of the difference and not out of the sum: E_n is then too kind. ZeroDivisionError
    where neither has an uncertainty.

    >>> e_n_square(30, 25, 3, 4)
    Fraction(1, 1)
    """
    return Fraction((first - second) ** 2, first_expanded**2 + second_expanded**2)
