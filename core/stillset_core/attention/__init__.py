"""Attention: named checks over trend, balance, pain, set-up and coverage, each with its evidence."""

from stillset_core.attention.catalogue import CATALOGUE, Check
from stillset_core.attention.item import AttentionItem, Evidence
from stillset_core.attention.ranking import attention_of, attention_of_squad

__all__ = ["CATALOGUE", "AttentionItem", "Check", "Evidence", "attention_of", "attention_of_squad"]
