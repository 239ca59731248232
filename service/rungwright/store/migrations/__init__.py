"""The forms that the database has had, in order. Each stands for ever as it was released."""
