"""The words, units and headers in which logs of every format name their quantities."""
