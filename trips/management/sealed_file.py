"""Files that only the holder of a secret key can read: the open age format (age-encryption.org/v1) with X25519 keys.

The server that writes backups needs the public key alone; the secret one is kept elsewhere.
"""

from io import BytesIO
from typing import IO

import pyrage

from trips.management.plain_command import Refusal, read_bytes

SEALED = b"age-encryption.org/v1\n"  # how a sealed file begins
MOST_KEY_BYTES = 10_000


def sealed(content: bytes, public_key: str) -> bytes:
    """The content for the holder of one secret key alone. Raises Refusal for what is no public key."""
    try:
        recipient = pyrage.x25519.Recipient.from_str(public_key.strip())
    except pyrage.RecipientError as wrong:
        raise Refusal("That is no public key: it begins with age1, as backup_key prints it.") from wrong
    return bytes(pyrage.encrypt(content, [recipient]))


def unsealed(stream: IO[bytes], key_file: str) -> IO[bytes]:
    """The content of a file, sealed or not, to be read more than once; `key_file` holds the secret key, "" for none."""
    is_sealed = stream.read(len(SEALED)) == SEALED
    stream.seek(0)
    if not is_sealed:
        return stream
    if not key_file:
        raise Refusal("The backup is encrypted: name the file of its secret key with --key.")
    lines = read_bytes(key_file, at_most=MOST_KEY_BYTES).decode("utf-8", "replace").split()
    try:
        identities = [pyrage.x25519.Identity.from_str(line) for line in lines if line.startswith("AGE-SECRET-KEY-")]
    except pyrage.IdentityError as wrong:
        raise Refusal(f"{key_file} holds no secret key of backup_key.") from wrong
    content = BytesIO()
    try:
        pyrage.decrypt_io(stream, content, identities)
    except (pyrage.DecryptError, OSError) as wrong:
        raise Refusal("The backup does not open with this key, or it is damaged.") from wrong
    content.seek(0)
    return content


def key_pair() -> tuple[str, str]:
    """A new secret key, and the public key that belongs to it."""
    identity = pyrage.x25519.Identity.generate()
    return str(identity), str(identity.to_public())
