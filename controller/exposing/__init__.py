"""Exposing: one plan carried out, by the runner and its hands, and what the foot means."""
