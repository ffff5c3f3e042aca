"""Small widgets; none knows a rule."""
