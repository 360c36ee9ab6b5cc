"""Tokens: genuine, mangled, of another kind, of an older counter."""

import uuid

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.tokens import KINDS, address_token, code_digest, code_make, text_digest, token_read

OWNER = uuid.UUID("1b4e28ba-2fa1-4d2b-883f-0016d3cca427")


@pytest.mark.parametrize("kind", sorted(KINDS.values()))
def test_a_token_reads_back(kind):
    address = token_read(address_token(kind=kind, owner_uuid=OWNER, counter=7))
    assert (address.kind, address.owner_uuid, address.counter) == (kind, OWNER, 7)


@given(st.integers(0, 200), st.characters(codec="utf-8"))
@settings(max_examples=60)
def test_a_token_with_one_changed_sign_opens_nothing(position, sign):
    token = address_token(kind="mail", owner_uuid=OWNER, counter=3)
    position %= len(token)
    changed = token[:position] + sign + token[position + 1 :]
    assert changed == token or token_read(changed) is None


@pytest.mark.parametrize("cut", [0, 1, 20, 50, -1])
def test_a_cut_token_opens_nothing(cut):
    assert token_read(address_token(kind="mail", owner_uuid=OWNER, counter=3)[:cut]) is None


def test_a_counter_cannot_be_raised_by_hand():
    token = address_token(kind="mail", owner_uuid=OWNER, counter=3)
    assert token_read(token.replace(".3.", ".4.")) is None


def test_a_feed_token_signs_nobody_in():
    token = address_token(kind="feed_person", owner_uuid=OWNER, counter=1)
    assert token_read("m" + token[1:]) is None


def test_tokens_differ_with_the_key(settings):
    token = address_token(kind="mail", owner_uuid=OWNER, counter=1)
    settings.SECRET_KEY = "another key that is long enough for anybody"
    assert token_read(token) is None


def test_codes_are_six_digits_and_their_digest_depends_on_owner_and_counter():
    codes = {code_make() for _ in range(200)}
    assert all(len(code) == 6 and code.isdigit() for code in codes)
    assert len(codes) > 150
    digests = {code_digest("042917", owner_uuid=owner, counter=n) for owner in (OWNER, uuid.uuid4()) for n in (1, 2)}
    assert len(digests) == 4


def test_a_typed_address_counts_as_the_same_in_any_case():
    assert text_digest(" Ana@Example.org") == text_digest("ana@example.org ")
