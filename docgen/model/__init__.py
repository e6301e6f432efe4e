"""The nouns that travel from room to room. Frozen; no behaviour beyond their own consistency."""
