"""Tests: the folders mirror the rooms; checks against outside values stand in tests/outside/."""
