"""piecewright: a drawn patchwork block becomes exact pieces, ready to cut."""

# Kept in step with pyproject.toml by a test; a constant because reading the installed
# metadata costs more than the rest of `--version`.
__version__ = "0.1.0"
