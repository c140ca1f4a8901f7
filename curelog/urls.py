from django.urls import path

from curelog.views import acts, answers, loaf, loaves, photos, today

urlpatterns = [
    path("", today.today, name="today"),
    path("loaves/", loaves.loaves, name="loaves"),
    path("loaves/<uuid:key>/", loaf.loaf, name="loaf"),
    path("loaves/<uuid:key>/<slug:act>/", acts.act, name="act"),
    path("checks/<uuid:key>/answer/", answers.answer, name="answer"),
    path("facts/<slug:kind>/<uuid:key>/withdraw/", answers.withdraw, name="withdraw"),
    path("photos/<uuid:key>/<slug:rendition>/", photos.picture, name="picture"),
]

handler403 = "curelog.views.errors.forbidden"
handler404 = "curelog.views.errors.not_found"
handler500 = "curelog.views.errors.failed"
