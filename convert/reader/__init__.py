"""From an SVG file to a Drawing: what a person sees on the page, in millimetres."""
