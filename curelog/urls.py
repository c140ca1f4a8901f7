from django.urls import path

from curelog.views import account, acts, answers, erase, loaf, loaves, people, photos, settings, today

urlpatterns = [
    path("", today.today, name="today"),
    path("loaves/", loaves.loaves, name="loaves"),
    path("loaves/<uuid:key>/", loaf.loaf, name="loaf"),
    path("loaves/<uuid:key>/<slug:act>/", acts.act, name="act"),
    path("checks/<uuid:key>/answer/", answers.answer, name="answer"),
    path("facts/<slug:kind>/<uuid:key>/withdraw/", answers.withdraw, name="withdraw"),
    path("photos/<uuid:key>/<slug:rendition>/", photos.picture, name="picture"),
    path("sign-in/", account.sign_in, name="sign_in"),
    path("sign-out/", account.sign_out, name="sign_out"),
    path("join/<str:token>/", account.join, name="join"),
    path("workshop/account/", account.account, name="account"),
    path("workshop/account/password/", account.password, name="account_password"),
    path("workshop/account/sign-out-everywhere/", account.sign_out_everywhere, name="sign_out_everywhere"),
    path("workshop/", settings.settings, name="settings"),
    path("workshop/settings/", settings.workshop, name="settings_workshop"),
    path("workshop/scales/", settings.scales, name="scales"),
    path("workshop/scales/<int:pk>/", settings.scale, name="scale"),
    path("workshop/scales/<int:pk>/retire/", settings.retire, name="scale_retire"),
    path("workshop/people/", people.people, name="people"),
    path("workshop/people/<int:pk>/remove/", people.remove, name="person_remove"),
    path("workshop/people/links/<int:pk>/close/", people.withdraw, name="invitation_withdraw"),
    path("workshop/photos/<uuid:key>/erase/", erase.photo, name="photo_erase"),
]

handler400 = "curelog.views.errors.bad_request"
handler403 = "curelog.views.errors.forbidden"
handler404 = "curelog.views.errors.not_found"
handler500 = "curelog.views.errors.failed"
