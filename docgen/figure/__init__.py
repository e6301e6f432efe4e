"""Turn the wearer at a step into a drawing, and into the words for those who cannot see it.

Everything here is drawn by this code; no picture of a standard or of a product is copied.
"""

from docgen.figure.describe import describe
from docgen.figure.draw import Picture, draw
from docgen.figure.phrases import PHRASES

__all__ = ["PHRASES", "Picture", "describe", "draw"]
