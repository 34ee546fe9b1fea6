"""What is said when runs cannot be done on a cluster; apart, so that every command can catch it at no cost."""

from __future__ import annotations


class ClusterFault(Exception):
    """Why runs cannot be done on a cluster, in one line."""

    def __init__(self, address: str, why: str) -> None:
        super().__init__(f"--cluster {address}: {why}")
        self.then = ""  # what was kept

    def __str__(self) -> str:
        return f"{super().__str__()}. {self.then}".rstrip()
