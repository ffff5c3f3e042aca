"""Measurements that need hardware and screen at once."""
