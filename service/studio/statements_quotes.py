"""What must always hold of quotes and payments and can be said as a query for the rows that break it."""

from service.studio.statements import Statement

QUOTES = (
    Statement(
        "a quote's price is the sum of its lines and its tax is its tax line",
        """
        select quote.id from quote left join quote_line on quote_line.quote_id = quote.id
        group by quote.id, quote.price_minor, quote.tax_minor
        having quote.price_minor <> coalesce(sum(case when quote_line.kind <> 'tax' and not quote_line.left_out
                                                 then quote_line.amount_minor else 0 end), 0)
            or quote.tax_minor <> coalesce(sum(case when quote_line.kind = 'tax'
                                               then quote_line.amount_minor else 0 end), 0)
        """,
    ),
    Statement(
        "a quote's instalments come to its total",
        """
        select quote.id from quote left join quote_instalment on quote_instalment.quote_id = quote.id
        group by quote.id, quote.total_minor
        having quote.total_minor <> coalesce(sum(quote_instalment.amount_minor), 0)
            or coalesce(sum(quote_instalment.percent_hundredths), 0) <> 10000
        """,
    ),
    Statement(
        "the shares of the garments come to the price of their quote",
        """
        select quote.id from quote join quote_garment on quote_garment.quote_id = quote.id
        group by quote.id, quote.price_minor having quote.price_minor <> sum(quote_garment.price_minor)
        """,
    ),
    Statement(
        "a quote is for garments of its own commission",
        """
        select distinct quote.id from quote join quote_garment on quote_garment.quote_id = quote.id
        join garment on garment.id = quote_garment.garment_id where garment.commission_id <> quote.commission_id
        """,
    ),
    Statement(
        "an accepted alteration alters an accepted quote",
        """
        select quote.id from quote where quote.kind = 'alteration' and quote.state = 'accepted' and not exists (
            select 1 from quote as altered where altered.commission_id = quote.commission_id
               and altered.kind = 'quote' and altered.state = 'accepted')
        """,
    ),
    Statement(
        "what the studio asks for in parts comes to the whole",
        """
        select charges.id from charges
        where (select coalesce(sum(percent_hundredths), 0) from charges_instalment) <> 10000
        """,
    ),
    Statement(
        "a payment that is taken back is taken back whole, in its own commission",
        """
        select payment.id from payment join payment as wrong on wrong.id = payment.counters_id
        where wrong.kind = 'counter' or wrong.commission_id <> payment.commission_id
           or wrong.amount_minor <> payment.amount_minor or wrong.currency <> payment.currency
        """,
    ),
)
