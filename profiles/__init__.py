"""Cutters, sheets and size sets, as TOML files. Data only."""
