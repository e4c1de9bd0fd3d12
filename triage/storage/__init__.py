"""What the tool keeps on disk: the user folder, atomic writes, TOML files, record logs."""
