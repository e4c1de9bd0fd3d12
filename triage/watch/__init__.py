"""Releases under watch: notes kept in the user folder, weighed anew, and the next check due."""
