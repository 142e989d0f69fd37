"""What a person wrote down, kept as entries: as rows of text and as a folder of files."""

from slowfire.journal.text import Journal, read_journal, write_journal
from slowfire.records import effective_entries

__all__ = ["Journal", "effective_entries", "read_journal", "write_journal"]
