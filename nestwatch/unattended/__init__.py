"""A night that nobody sits through: started by the system's own timer, told by e-mail or by a program.

job.py         what is to be run, where, and when: just after the site's night
systemd.py, cron.py, launchd.py, windows.py
               the same job as each system wants it told, and what the keeper does with it. Pure
message.py     a night in a short message: no picture, and no place unless the site file says so. Pure
mail.py, program.py, secret.py
               sending it
tell.py        `tell(notify, message)`: by every way that the site file names
"""
