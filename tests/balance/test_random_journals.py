"""Books, bounds and finiteness of bins under random journals with every act there is."""

import pytest
from bin_checks import check_books, check_bounds
from hypothesis import HealthCheck, given, settings
from random_journals import JOURNALS, Journal, play

from slowfire.column.ledger import books


def check(journal: Journal) -> None:
    column = play(journal, watch=check_bounds)
    check_books(books(None, column))


@given(JOURNALS)
@settings(
    max_examples=30,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
def test_books_close_and_bounds_hold(journal: Journal):
    check(journal)


@pytest.mark.long
@given(JOURNALS)
@settings(max_examples=1000, deadline=None, suppress_health_check=list(HealthCheck))
def test_books_close_and_bounds_hold_in_many_more_journals(journal: Journal):
    check(journal)
