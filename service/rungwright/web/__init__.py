"""Pages for teachers and coaches: rendered here, complete without script, nothing from outside."""
