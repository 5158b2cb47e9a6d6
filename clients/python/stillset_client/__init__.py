"""Python client for a stillset service."""

from stillset_client.client import BatchResult, Client
from stillset_client.errors import ApiError, Conflict, NotAllowed, Problem, Refused, ServiceFault, Unreachable

__all__ = [
    "ApiError",
    "BatchResult",
    "Client",
    "Conflict",
    "NotAllowed",
    "Problem",
    "Refused",
    "ServiceFault",
    "Unreachable",
]
