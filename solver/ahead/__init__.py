"""Looking past the present pass by sampling the tiles that come in."""
