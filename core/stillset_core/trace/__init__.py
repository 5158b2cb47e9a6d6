"""Sampled force → reps: the trace rules of the API contract."""

from stillset_core.trace.channels import SampledForce
from stillset_core.trace.reps import reps_in_trace
from stillset_core.trace.stretches import FLOOR

__all__ = ["FLOOR", "SampledForce", "reps_in_trace"]
