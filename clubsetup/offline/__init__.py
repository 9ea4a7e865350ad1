"""Work without a connection: what waits on a device until the server has it."""
