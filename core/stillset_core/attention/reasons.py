"""How often each rule stood behind what was not a counting reading, for the evidence of several checks."""

from collections.abc import Mapping

__all__ = ["by_rule", "commonest"]


def commonest(reasons: Mapping[str, int]) -> tuple[str, int]:
    """Give the rule that fired most often, and how often; of equals the first by name."""
    return min(reasons.items(), key=lambda item: (-item[1], item[0]))


def by_rule(reasons: Mapping[str, int]) -> dict[str, int]:
    """Give the count of each rule as a member of the evidence."""
    return {f"by_{rule}": count for rule, count in sorted(reasons.items())}
