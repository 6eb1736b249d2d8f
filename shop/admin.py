from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.forms import AdminUserCreationForm
from django.db import transaction

from shop import journal, people
from shop.models import JournalEntry, User


class PersonCreationForm(AdminUserCreationForm):
    class Meta:
        model = User
        fields = ("username", "name", "initials", "role")


@admin.register(User)
class PersonAdmin(UserAdmin):
    add_form = PersonCreationForm
    list_display = ("name", "username", "role", "is_active")
    list_filter = ("role", "is_active")
    search_fields = ("name", "username", "initials")
    ordering = ("name",)
    filter_horizontal = ()
    readonly_fields = ("last_login", "joined")
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Person", {"fields": ("name", "initials", "email", "units")}),
        ("Work", {"fields": ("role", "is_active")}),
        ("Dates", {"fields": ("last_login", "joined")}),
    )
    add_fieldsets = (
        (
            None,
            {"fields": ("username", "name", "initials", "role", "usable_password", "password1", "password2")},
        ),
    )

    def save_model(self, request, obj, form, change):
        people.save_person(request.user, obj)

    def user_change_password(self, request, id, form_url=""):
        with transaction.atomic():
            old = User.objects.filter(pk=id).values_list("password", flat=True).first()
            response = super().user_change_password(request, id, form_url)
            person = User.objects.filter(pk=id).first()
            if person and person.password != old:
                journal.record(request.user, "change_password", person)
        return response

    def has_delete_permission(self, request, obj=None):
        # What someone did stays theirs on record: take the tick of "may sign in" away instead.
        return False


@admin.register(JournalEntry)
class JournalAdmin(admin.ModelAdmin):
    list_display = ("number", "at", "actor_name", "action", "subject_name", "why")
    list_filter = ("action", "subject_kind", "at")
    search_fields = ("subject_name", "actor_name", "why")
    list_select_related = True

    def has_add_permission(self, request):
        return False

    def has_change_permission(self, request, obj=None):
        return False

    def has_delete_permission(self, request, obj=None):
        return False
