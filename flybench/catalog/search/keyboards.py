"""What a hand scanner meant that types as if on a keyboard of the United States into a computer set to another one."""

from __future__ import annotations

import re
from collections.abc import Mapping

_US = ("`1234567890-=qwertyuiop[]asdfghjkl;'\\zxcvbnm,./", '~!@#$%^&*()_+QWERTYUIOP{}ASDFGHJKL:"|ZXCVBNM<>?')
"""Signs of the keys, row by row from the upper left, without and with the shift key, on a keyboard of the United States."""
_OTHERS: Mapping[str, tuple[str, str]] = {
    "German": (
        "^1234567890ß´qwertzuiopü+asdfghjklöä#yxcvbnm,.-",
        "°!\"§$%&/()=?`QWERTZUIOPÜ*ASDFGHJKLÖÄ'YXCVBNM;:_",
    ),
    "Swiss": (
        "§1234567890'^qwertzuiopü¨asdfghjklöä$yxcvbnm,.-",
        '°+"*ç%&/()=?`QWERTZUIOPè!ASDFGHJKLéà£YXCVBNM;:_',
    ),
    "French": (
        "²&é\"'(-è_çà)=azertyuiop^$qsdfghjklmù*wxcvbn,;:!",
        "~1234567890°+AZERTYUIOP¨£QSDFGHJKLM%µWXCVBN?./§",
    ),
    "Belgian": (
        "²&é\"'(§è!çà)-azertyuiop^$qsdfghjklmùµwxcvbn,;:=",
        "³1234567890°_AZERTYUIOP¨*QSDFGHJKLM%£WXCVBN?./+",
    ),
    "Spanish": (
        "º1234567890'¡qwertyuiop`+asdfghjklñ´çzxcvbnm,.-",
        'ª!"·$%&/()=?¿QWERTYUIOP^*ASDFGHJKLÑ¨ÇZXCVBNM;:_',
    ),
    "Italian": (
        "\\1234567890'ìqwertyuiopè+asdfghjklòàùzxcvbnm,.-",
        '|!"£$%&/()=?^QWERTYUIOPé*ASDFGHJKLç°§ZXCVBNM;:_',
    ),
    "Portuguese": (
        "\\1234567890'«qwertyuiop+´asdfghjklçº~zxcvbnm,.-",
        '|!"#$%&/()=?»QWERTYUIOP*`ASDFGHJKLÇª^ZXCVBNM;:_',
    ),
    "Swedish": (
        "§1234567890+´qwertyuiopå¨asdfghjklöä'zxcvbnm,.-",
        '½!"#¤%&/()=?`QWERTYUIOPÅ^ASDFGHJKLÖÄ*ZXCVBNM;:_',
    ),
    "Norwegian": (
        "|1234567890+\\qwertyuiopå¨asdfghjkløæ'zxcvbnm,.-",
        '§!"#¤%&/()=?`QWERTYUIOPÅ^ASDFGHJKLØÆ*ZXCVBNM;:_',
    ),
    "Danish": (
        "½1234567890+´qwertyuiopå¨asdfghjklæø'zxcvbnm,.-",
        '§!"#¤%&/()=?`QWERTYUIOPÅ^ASDFGHJKLÆØ*ZXCVBNM;:_',
    ),
}
"""The same keys elsewhere, after xkeyboard-config 2.35.1 (symbols/de and so on, their basic layouts)."""
_PLAIN = re.compile(r"[A-Za-z0-9._-]+")
_NO_CODE = frozenset(' ,:"/\\')
"""Signs that no code holds."""


def as_meant(typed: str) -> list[str]:
    """Return what a scanner may have read whose keys came out as this text, for each keyboard that it can have come from.

    Only a code, or an address with "://", is taken for what was meant. A text of plain letters, digits and hyphens is left
    alone: where it was typed by hand, taking y for z would name another thing.

    >>> as_meant("reedßslipß12"), as_meant("reed-slip-12")
    (['reed-slip-12'], [])
    """
    if _PLAIN.fullmatch(typed):
        return []
    found = [_translated(typed, keys) for keys in _OTHERS.values()]
    return list(dict.fromkeys(text for text in found if text and ("://" in text or not _NO_CODE & set(text))))


def _translated(typed: str, keys: tuple[str, str]) -> str:
    """Return the text of the same keys on a keyboard of the United States; "" where these have no such sign."""
    levels = zip(_US, keys, strict=True)
    meant = {sign: us for both in levels for us, sign in zip(*both, strict=True)}
    return "".join(meant[sign] for sign in typed) if set(typed) <= set(meant) else ""
