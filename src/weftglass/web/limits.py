"""How much may be sent at once."""

MAX_FILE_BYTES = 64 * 2**20
MAX_BODY_BYTES = 1024 * 2**20
MAX_JSON_BYTES = 8 * 2**20
