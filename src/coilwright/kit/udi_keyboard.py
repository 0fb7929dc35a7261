"""What a scanner that types as a US keyboard looks like on a computer set to another layout."""

import unicodedata

# The printing keys row by row, first without shift and then with it, in the same order throughout.
_US = (
    "`1234567890-=qwertyuiop[]\\asdfghjkl;'zxcvbnm,./"
    '~!@#$%^&*()_+QWERTYUIOP{}|ASDFGHJKL:"ZXCVBNM<>?'
)
_LAYOUTS = {
    "German": (
        "^1234567890ß´qwertzuiopü+#asdfghjklöäyxcvbnm,.-"
        "°!\"§$%&/()=?`QWERTZUIOPÜ*'ASDFGHJKLÖÄYXCVBNM;:_"
    ),
    "French": (
        "²&é\"'(-è_çà)=azertyuiop^$*qsdfghjklmùwxcvbn,;:!"
        "³1234567890°+AZERTYUIOP¨£µQSDFGHJKLM%WXCVBN?./§"
    ),
}
# Accents of dead keys: they join with the next letter, and are taken off it again.
_DEAD_KEYS = {
    "German": {"\u0300": "`", "\u0301": "´", "\u0302": "^"},
    "French": {"\u0302": "^", "\u0308": "¨"},
}


LAYOUTS = tuple(_LAYOUTS)


def typed_as_us(text: str, layout: str) -> str:
    """What a US keyboard would have typed by the keys that gave ``text`` on ``layout``.

    Examples
    --------
    >>> typed_as_us(")01=0950", "German")
    '(01)0950'
    """
    back = dict(zip(_LAYOUTS[layout], _US, strict=True))
    loose = _without_dead_keys(text, _DEAD_KEYS[layout])
    return "".join(back.get(character, character) for character in loose)


def _without_dead_keys(text: str, dead_keys: dict[str, str]) -> str:
    loose = ""
    for character in text:
        parts = unicodedata.normalize("NFD", character)
        if len(parts) == 2 and parts[1] in dead_keys:
            loose += dead_keys[parts[1]] + parts[0]
        else:
            loose += character
    return loose
