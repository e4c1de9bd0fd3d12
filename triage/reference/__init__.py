"""Every data file of the package, and the one loader that validates them."""
