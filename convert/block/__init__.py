"""The normaliser: from a Drawing to a Block of labelled pieces that meet edge to edge."""
