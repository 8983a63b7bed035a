"""Published test vectors of the digests, signatures and key derivation that saved records rest on."""

from __future__ import annotations

import hashlib

import pytest

from preflight.checklist.people import derive
from preflight.checklist.seal import NO_PREVIOUS, read_seal, seal
from preflight.checklist.signing import Ed25519Signer, signature_fits


@pytest.mark.parametrize(
    ("private", "public", "message", "signature"),
    [
        (  # RFC 8032, section 7.1, TEST 1
            "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
            "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
            "",
            (
                "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd"
                "25bf5f0595bbe24655141438e7a100b"
            ),
        ),
        (  # RFC 8032, section 7.1, TEST 2, as reproduced in public test suites
            "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
            "72",
            (
                "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c3"
                "87b2eaeb4302aeeb00d291612bb0c00"
            ),
        ),
        (  # RFC 8032, section 7.1, TEST 3, as reproduced in public test suites
            "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
            "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
            "af82",
            (
                "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594"
                "a7c15e9716ed28dc027beceea1ec40a"
            ),
        ),
    ],
)
def test_signatures_are_those_of_rfc_8032(private: str, public: str, message: str, signature: str) -> None:
    signer = Ed25519Signer(bytes.fromhex(private))
    assert signer.public.hex() == public
    assert signer.sign(bytes.fromhex(message)).hex() == signature
    assert signature_fits(bytes.fromhex(public), bytes.fromhex(signature), bytes.fromhex(message))
    assert not signature_fits(bytes.fromhex(public), bytes.fromhex(signature), bytes.fromhex(message) + b"\0")


@pytest.mark.parametrize(
    ("secret", "salt", "n", "r", "p", "key"),
    [  # RFC 7914, section 12; the fourth vector (n = 2^20) would take too long here
        (
            b"",
            b"",
            16,
            1,
            1,
            (
                "77d6576238657b203b19ca42c18a0497f16b4844e3074ae8dfdffa3fede21442fcd0069ded0948f8326a753a0fc81f17"
                "e8d3e0fb2e0d3628cf35e20c38d18906"
            ),
        ),
        (
            b"password",
            b"NaCl",
            1024,
            8,
            16,
            (
                "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b3731622eaf30d92e22a3886ff109279d9830da"
                "c727afb94a83ee6d8360cbdfa2cc0640"
            ),
        ),
        (
            b"pleaseletmein",
            b"SodiumChloride",
            16384,
            8,
            1,
            (
                "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2d5432955613f0fcf62d49705242a9af9"
                "e61e85dc0d651e40dfcf017b45575887"
            ),
        ),
    ],
)
def test_keys_are_derived_as_in_rfc_7914(secret: bytes, salt: bytes, n: int, r: int, p: int, key: str) -> None:
    assert derive(secret, salt, n=n, r=r, p=p, length=64).hex() == key


SHA_256 = [  # FIPS 180-4, examples of the standard; the empty one as in the validation suite's SHA256ShortMsg
    (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
]


@pytest.mark.parametrize(("message", "digest"), SHA_256)
def test_the_digest_a_record_uses_is_that_of_fips_180_4(message: bytes, digest: str) -> None:
    # A record is hashed in two steps, body and then seal, going on from the first: the same function, the same steps.
    for cut in range(len(message) + 1):
        steps = hashlib.sha256(message[:cut])
        steps.digest()
        steps.update(message[cut:])
        assert steps.hexdigest() == digest


def test_the_digests_in_a_record_are_sha_256_of_its_body_and_of_the_whole_file() -> None:
    """Against the digest of an independent library, OpenSSL through `cryptography`."""
    from cryptography.hazmat.primitives import hashes

    def independent(data: bytes) -> str:
        digest = hashes.Hash(hashes.SHA256())
        digest.update(data)
        return digest.finalize().hex()

    body = b"a = 1\n"
    data = seal(body, machine="m-1", sequence=1, previous=NO_PREVIOUS, signer=None)
    assert f'body_sha256 = "{independent(body)}"'.encode() in data
    assert read_seal(data).sha256 == independent(data)
