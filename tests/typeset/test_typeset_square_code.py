"""The mask of a square code, chosen quickly, is the one that the encoder itself chooses by trying all."""

from __future__ import annotations

import segno
from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.typeset.square import modules

SAID = st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-./", min_size=1, max_size=200) | st.text(min_size=1, max_size=60)


@settings(max_examples=60, deadline=None)
@given(SAID, st.sampled_from("lmqh"))
def test_the_mask_is_the_one_with_the_least_penalty(said: str, error: str) -> None:
    """Outside source: segno's own choice, which weighs all eight masks by ISO/IEC 18004, 7.8.3."""
    whole = segno.make(said, error=error, boost_error=False, micro=False)
    assert modules(said, error).tolist() == [[bool(m) for m in row] for row in whole.matrix_iter(border=4)]
