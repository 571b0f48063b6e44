"""Passwords hashed at once, in the form that a real office reads."""

from django.contrib.auth.hashers import PBKDF2PasswordHasher


class Quick(PBKDF2PasswordHasher):
    """One round instead of a million: for people who exist for a second."""

    iterations = 1
