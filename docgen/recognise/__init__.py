"""Turn a file that somebody found, a PDF, a scan or a photograph, into the sheets that are seen in it.

Nothing here knows what has been released: the room says what is there to be read, by square code, by printed stamp, on
which page. The files come from strangers. What they may cost is bounded here; `docgen.apart` gives the process in which
they are opened a limit of time and memory.
"""

from docgen.recognise.look import look
from docgen.recognise.picture import Unusable

__all__ = ["Unusable", "look"]
