"""What is known of the covering: technique, material, community; from it, how thick it may be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from weftglass.evidence.reading import Record, need_text, refuse_unknown

KNOWN = frozenset({"technique", "material", "community"})


@dataclass(frozen=True)
class Covering:
    """Technique, material and community of the covering, each in the owner's words or ``None`` where unknown."""

    technique: str | None = None
    material: str | None = None
    community: str | None = None

    @classmethod
    def from_record(cls, record: Record, where: str, field: str) -> Covering:
        """Read the contract's form; unknown keys are refused."""
        refuse_unknown(record, KNOWN, where, field)
        words = {
            name: None if record.get(name) is None else need_text(record[name], where, f"{field}.{name}", "a few words")
            for name in sorted(KNOWN)
        }
        return cls(**words)

    def to_record(self) -> dict[str, Any]:
        """The contract's form, without what is unknown."""
        pairs = {"technique": self.technique, "material": self.material, "community": self.community}
        return {name: value for name, value in pairs.items() if value is not None}
