"""Records of the shop floor: read, cleaned with every change listed, and turned into inputs."""
