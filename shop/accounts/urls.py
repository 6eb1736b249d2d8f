"""Addresses of coming in and of the people who work here; none is in a namespace."""

from django.urls import path

from shop.accounts.views import coming_in, joining, locking, own, people

PERSON = "office/people/<int:pk>/"

urlpatterns = [
    path("sign-in/", coming_in.sign_in, name="sign_in"),
    path("sign-in/code/", coming_in.sign_in_code, name="sign_in_code"),
    path("confirm/", coming_in.confirm, name="confirm"),
    path("begin/", joining.begin, name="begin"),
    path("invitation/<str:secret>/", joining.by_invitation, name="by_invitation"),
    path("lock/", locking.lock, name="lock"),
    path("unlock/", locking.unlock, name="unlock"),
    path("stay/", locking.stay, name="stay"),
    path("me/", own.me, name="me"),
    path("me/password/", own.my_password, name="my_password"),
    path("me/second-factor/", own.my_second_factor, name="my_second_factor"),
    path("me/second-factor/codes/", own.new_recovery_codes, name="new_recovery_codes"),
    path("me/second-factor/off/", own.no_second_factor, name="no_second_factor"),
    path("me/sessions/end/", coming_in.end_my_sessions, name="end_my_sessions"),
    path("office/people/", people.everyone, name="people"),
    path("office/people/sign-ins/", people.sign_ins, name="sign_ins"),
    path("office/people/invitations/<int:pk>/take-back/", people.take_back, name="take_back"),
    path(PERSON, people.person, name="person"),
    path(f"{PERSON}password-link/", people.link_to_new_password, name="link_to_new_password"),
    path(f"{PERSON}sessions/end/", people.end_sessions, name="end_sessions"),
    path(f"{PERSON}second-factor/off/", people.take_factor_off, name="take_factor_off"),
    path(f"{PERSON}leave/", people.leave, name="leave"),
    path(f"{PERSON}come-back/", people.come_back, name="come_back"),
]
