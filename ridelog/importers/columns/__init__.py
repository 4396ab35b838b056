"""Which column of a log is which channel, in which unit and with which sign: one engine for every format."""
