"""Steps from each form of the database to the next, run when a journal is opened."""
