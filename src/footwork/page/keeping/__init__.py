"""That nothing is lost: how a file is opened, what is kept of it until it is saved, who else writes it."""
