"""Paper: the SVG writer, paper, styles, letters and symbols."""
