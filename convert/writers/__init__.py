"""From Sheets to files: SVG, DXF and the manifest. Writers never compute shapes."""
