"""The certificate for the home network: for its names, renewed in time, its key for its owner."""

import stat
from datetime import UTC, datetime, timedelta

from cryptography import x509

from slowfire.web.certificate import KEY, certificate, fingerprint, own_names

NOW = datetime(2026, 3, 14, tzinfo=UTC)
NAMES = ("bin.home.example", "10.0.0.5")


def test_it_holds_for_the_names_asked(tmp_path):
    made = x509.load_pem_x509_certificate(certificate(tmp_path, NAMES, NOW).read_bytes())
    names = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert "bin.home.example" in names.get_values_for_type(x509.DNSName)
    assert "10.0.0.5" in [str(one) for one in names.get_values_for_type(x509.IPAddress)]
    assert not made.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    assert made.not_valid_after_utc - NOW < timedelta(days=398)


def test_the_key_is_its_owners_alone(tmp_path):
    key = certificate(tmp_path, NAMES, NOW).with_name(KEY)
    assert stat.S_IMODE(key.stat().st_mode) == 0o600


def test_it_stays_until_it_is_old_or_for_other_names(tmp_path):
    first = fingerprint(certificate(tmp_path, NAMES, NOW))
    assert fingerprint(certificate(tmp_path, NAMES, NOW + timedelta(days=300))) == first
    assert fingerprint(certificate(tmp_path, (*NAMES, "other.example"), NOW)) != first
    second = fingerprint(certificate(tmp_path, NAMES, NOW))
    assert fingerprint(certificate(tmp_path, NAMES, NOW + timedelta(days=380))) != second


def test_a_broken_one_is_made_anew(tmp_path):
    file = certificate(tmp_path, NAMES, NOW)
    file.write_text("no certificate")
    assert len(fingerprint(certificate(tmp_path, NAMES, NOW))) == 95


def test_own_names_are_no_loopback():
    assert not any(one.startswith("127.") or one == "localhost" for one in own_names())
