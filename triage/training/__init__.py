"""Fits and measures the models; never imported when judging."""
