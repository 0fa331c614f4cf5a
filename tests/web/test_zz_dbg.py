from tests.web.test_languages_pages_c import *
from tests.marked_language import unmarked as _u
def show(name, answer):
    own = answer.content.decode(); own = own[own.find("<main"):].partition("</main>")[0]
    open('/tmp/deM/dbg.txt','a').write(f"=== {name} {answer.status_code}\n" )
    try: found=_u(PATHS.sub("", own), DATA)
    except AssertionError as e: found=[str(e)]
    import re as r
    for f in dict.fromkeys(found): open('/tmp/deM/dbg.txt','a').write('   '+f[:400]+'\n')
    tr=r.findall(r'class="trouble[^>]*>(.*?)<', own, r.S)
    open('/tmp/deM/dbg.txt','a').write('   TROUBLE '+' || '.join(tr)[:1500]+'\n')
    open(f'/tmp/deM/dbg_{name}.html','w').write(own)
def test_dbg(client, machine):
    for name,content in (("stop.wav",stop_wav()),("stop.csv",logger_csv())):
        a = sent(client, machine, "machine-stop", name, content).headers["Location"]
        p=client.get(a); show(name,p)
        m={**boxes(p.content.decode()), "look":"1"}; open('/tmp/deM/dbg.txt','a').write(str(m)[:2000]+'\n')
        show(name+'_moved', client.get(a,m))
    a = sent(client, machine, "machine-noise", "quiet.csv", quiet_csv()).headers["Location"]
    p=client.get(a); show('quiet',p)
    p = sent(client, machine, "machine-noise", "silent.wav", silent_wav()); p=client.get(p.headers["Location"]); show('silent',p)
