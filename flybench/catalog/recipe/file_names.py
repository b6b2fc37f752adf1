"""Names of the files that recipes are written to: plain ones only, on any machine."""

from __future__ import annotations

from hashlib import sha256

_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
"""Names that Windows takes for devices, whatever their ending (its rules for naming files, from memory)."""
LONGEST = 200
"""Longest name of a file [bytes]; judgement: file systems take 255."""


def file_name(code: str) -> str:
    """Return the name of the file of a pattern, without ending; other codes have other names."""
    text = "".join(letter if letter.isalnum() or letter in "-_." else _percent(letter) for letter in code)
    if text.startswith(".") or is_device(text):
        text = _percent(text[0]) + text[1:]
    if len(text.encode()) > LONGEST:
        return f"recipe-{sha256(code.encode()).hexdigest()[:24]}"
    return text


def _percent(letter: str) -> str:
    return "".join(f"%{byte:02X}" for byte in letter.encode())


def is_device(name: str) -> bool:
    """Tell whether some systems take the name for a device, such as "con" or "lpt1.txt"."""
    return name.partition(".")[0].rstrip().lower() in _DEVICES
