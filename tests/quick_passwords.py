"""Passwords hashed as the service does, in a thousandth of the time: each sign-in takes one."""

from django.contrib.auth.hashers import PBKDF2PasswordHasher


class FewRounds(PBKDF2PasswordHasher):
    """With so many rounds no stolen hash would be safe; these protect nothing."""

    iterations = 1000
