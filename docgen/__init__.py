"""One protocol in; every sheet people meet at the bedside out, proven to agree."""

__version__ = "0.1.0"
