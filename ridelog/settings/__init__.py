"""What the user says: the bike file and the column map, TOML read and edited."""
