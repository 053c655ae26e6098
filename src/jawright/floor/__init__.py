"""Measurements that come back from the floor, and what they say."""
