from django.urls import path

from builds.views import bench, counter, details, office, papers

app_name = "builds"

urlpatterns = [
    path("counter/", counter.start, name="start"),
    path("counter/new/", counter.new_ticket, name="new_ticket"),
    path("counter/tickets/", counter.ticket_list, name="tickets"),
    path("counter/ticket/<str:number>/", counter.ticket, name="ticket"),
    path("counter/ticket/<str:number>/lines/", counter.add_line, name="add_line"),
    path("counter/ticket/<str:number>/lines/<str:key>/", counter.change_line, name="change_line"),
    path("counter/ticket/<str:number>/lines/<str:key>/remove/", counter.remove_line, name="remove_line"),
    path("counter/ticket/<str:number>/undo/", counter.undo, name="undo"),
    path("counter/ticket/<str:number>/mend/", counter.mend, name="mend"),
    path("counter/ticket/<str:number>/close/<str:act>/", counter.close, name="close"),
    path("counter/ticket/<str:number>/about/", details.about, name="about"),
    path("counter/ticket/<str:number>/boat/", details.boat, name="boat"),
    path("counter/ticket/<str:number>/boat/change/", details.change_boat, name="change_boat"),
    path("counter/ticket/<str:number>/afloat/", details.afloat, name="afloat"),
    path("counter/ticket/<str:number>/operations/", details.operations, name="operations"),
    path("counter/ticket/<str:number>/charges/", details.charges, name="charges"),
    path("counter/ticket/<str:number>/papers/", papers.quotes, name="papers"),
    path("counter/ticket/<str:number>/papers/quote/", papers.issue_quote, name="issue_quote"),
    path("counter/ticket/<str:number>/papers/accept/", papers.accept, name="accept"),
    path("counter/ticket/<str:number>/papers/work-order/", papers.issue_work_order, name="issue_work_order"),
    path("counter/quote/<str:quote>.pdf", papers.quote_pdf, name="quote_pdf"),
    path("bench/", bench.jobs, name="jobs"),
    path("bench/ticket/<str:number>/", bench.ticket, name="bench_ticket"),
    path("bench/ticket/<str:number>/steps/<int:n>/", bench.record, name="record_work"),
    path("bench/ticket/<str:number>/check/", bench.check, name="check"),
    path("bench/ticket/<str:number>/work-order-<int:version>.pdf", papers.work_order_pdf, name="work_order_pdf"),
    path("bench/ticket/<str:number>/hole-templates.pdf", papers.hole_templates, name="hole_templates"),
    path("office/", office.office, name="office"),
]
