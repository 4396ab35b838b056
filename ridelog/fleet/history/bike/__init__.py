"""What many rides teach about the bike itself: its wheel, sensor, pack and drag, and how full to start."""
