"""Pure plane geometry of lines and circular arcs: no SVG, no pieces, no paper."""
