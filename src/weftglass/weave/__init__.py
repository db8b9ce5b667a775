"""The covering: how finely it is woven, which way its stitches lean, what its parts are called, who may have made it."""
