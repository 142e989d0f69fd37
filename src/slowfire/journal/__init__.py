"""What a person wrote down, kept as entries: as a folder of text or in the app's database."""

from slowfire.journal.reading import read_journal
from slowfire.journal.text import Journal, write_journal
from slowfire.records import effective_entries

__all__ = ["Journal", "effective_entries", "read_journal", "write_journal"]
