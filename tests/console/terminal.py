"""A stream that takes itself for a terminal."""

import io


class Terminal(io.StringIO):
    """A stream that says it is a terminal; COLUMNS tells its width."""

    encoding = "utf-8"

    def isatty(self) -> bool:
        """As a terminal does."""
        return True
