"""Find out, and defend, which glass vessel is inside a woven covering."""
