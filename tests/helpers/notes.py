"""The end that one maker's cameras put to a clip: notes, a list of them that begins with SEFH, its length, and SEFT."""

from __future__ import annotations


def noted(*names: bytes) -> bytes:
    """Return the end of a file with notes of these names."""
    notes, entries, ends = b"", [], []
    for name in names:
        note = b"\0\0\x90\x08" + len(name).to_bytes(4, "little") + name + b"88:879:2"
        notes += note
        ends.append((len(notes) - len(note), len(note)))
    for start, length in ends:
        entries.append(
            b"\0\0\x90\x08" + (len(notes) - start).to_bytes(4, "little") + length.to_bytes(4, "little")
        )
    listed = b"SEFH" + (106).to_bytes(4, "little") + len(names).to_bytes(4, "little") + b"".join(entries)
    return notes + listed + len(listed).to_bytes(4, "little") + b"SEFT"
