"""Invented classes with a known truth, taught for many weeks: how well the recommendations do, and the baselines."""
