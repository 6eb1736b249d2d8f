"""Mail to the customer: the quote with its link, and the file that was signed. Codes for the customer's phone."""

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string

from builds.models import Acceptance, SignatureLink
from catalog.models import ShopRates
from shop import clock


def send_quote(link: SignatureLink, url: str) -> None:
    """Send a quote with its PDF and the link to sign by. Raises OSError where the mail cannot go."""
    rates = ShopRates.objects.holding_on(clock.today())
    quote = link.quote
    said = {"quote": quote, "ticket": quote.ticket, "url": url, "link": link, "rates": rates}
    message(rates, f"Quote {quote.number}, {rates.shop_name}", "mail/quote.txt", said, link.sent_to).attach_and_send(
        f"{quote.number}.pdf", bytes(quote.pdf)
    )


def send_signed(acceptance: Acceptance, address: str) -> None:
    """Send the signed file. Raises OSError where the mail cannot go."""
    rates = ShopRates.objects.holding_on(clock.today())
    quote = acceptance.quote
    said = {"quote": quote, "ticket": quote.ticket, "acceptance": acceptance, "rates": rates}
    message(rates, f"Signed: quote {quote.number}", "mail/signed.txt", said, address).attach_and_send(
        f"{quote.number}-signed.pdf", bytes(acceptance.signed_pdf)
    )


class Letter(EmailMessage):
    """A mail with one paper."""

    def attach_and_send(self, name: str, pdf: bytes) -> None:
        self.attach(name, pdf, "application/pdf")
        self.send()


def message(rates: ShopRates, subject: str, template: str, said: dict, address: str) -> Letter:
    sender = rates.mail_from or settings.DEFAULT_FROM_EMAIL
    return Letter(subject, render_to_string(template, said), sender, [address])
