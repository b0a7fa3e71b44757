"""What all tests of this room share."""

import os

import pytest


@pytest.fixture(autouse=True)
def quick_disk(monkeypatch):
    """Do not wait for the disk: only a power cut could tell, and it takes most of the time."""
    monkeypatch.setattr(os, "fsync", lambda handle: None)
