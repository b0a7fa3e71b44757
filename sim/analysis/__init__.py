"""Answers from an ensemble of flights: pure functions from datasets to datasets.

The files named after a method (order_statistics, proportions, radial, ...) work on plain arrays;
the others take and return xarray datasets. Nothing here draws or prints.
"""
