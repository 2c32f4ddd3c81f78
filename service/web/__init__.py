"""Pages and JSON: they parse and render, and leave all deciding to the studio."""
