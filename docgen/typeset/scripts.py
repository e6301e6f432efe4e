"""Turn a language tag (BCP 47) into the script it is written in and the direction it runs in."""

from __future__ import annotations

_SCRIPTS = {
    "ar": "Arab", "fa": "Arab", "ur": "Arab", "ps": "Arab", "sd": "Arab", "ug": "Arab", "ckb": "Arab",
    "he": "Hebr", "yi": "Hebr", "dv": "Thaa", "hi": "Deva", "mr": "Deva", "ne": "Deva", "th": "Thai", "km": "Khmr",
    "lo": "Laoo", "my": "Mymr", "bn": "Beng", "ta": "Taml", "te": "Telu", "gu": "Gujr", "pa": "Guru", "kn": "Knda",
    "ml": "Mlym", "si": "Sinh", "am": "Ethi", "ti": "Ethi", "ru": "Cyrl", "uk": "Cyrl", "bg": "Cyrl", "el": "Grek",
    "hy": "Armn", "ka": "Geor", "zh": "Hani", "ja": "Hani", "ko": "Hang",
}  # fmt: skip
"""The script a language is usually written in (CLDR likely subtags); every other language: Latin."""

_EAST_ASIAN = frozenset({"Hani", "Hira", "Kana", "Hrkt", "Bopo", "Hang"})
_RTL = frozenset({"Arab", "Hebr", "Thaa", "Syrc", "Nkoo", "Adlm", "Rohg"})


def script_of_language(language: str) -> str:
    """The script (ISO 15924) of a BCP 47 tag: as stated, or the usual one."""
    subtags = language.split("-")
    stated = next((s for s in subtags[1:] if len(s) == 4 and s.isalpha()), "")
    if stated:
        return {"Hans": "Hani", "Hant": "Hani", "Jpan": "Hani", "Kore": "Hang"}.get(stated.title(), stated.title())
    return _SCRIPTS.get(subtags[0].lower(), "Latn")


def written_rightward(language: str) -> bool:
    """Whether a language is written from right to left."""
    return script_of_language(language) in _RTL


def writing(script: str, language: str) -> str:
    """The script code that picks a font: Han characters look different in Chinese, Japanese and Korean."""
    if script not in _EAST_ASIAN:
        return script
    subtags = language.split("-")
    if subtags[0] in ("ja", "ko"):
        return "Jpan" if subtags[0] == "ja" else "Kore"
    if script == "Hang":
        return "Kore"
    if script != "Hani":
        return "Jpan"
    return "Hant" if {"Hant", "TW", "HK", "MO"} & set(subtags) else "Hans"
