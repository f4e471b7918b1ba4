package bench_test
import ("testing";"fmt";"sort";"benchtally/parts")
func TestZZ(t *testing.T){
 c:=map[string]int{}
 randomDays(t,60,func(d *days){ d.live(30); for _,a:=range d.asked{ k:=a.verb+" "; if a.err!=nil{k+=parts.CodeOf(a.err)}else{k+=a.answer.Outcome; if a.r.Override {k+=" over"}}; c[k]++ }
 for _,s:=range d.job.States{ if s.Kind==parts.Assembly&&len(s.Parts)>0 {c["assembly bound"]++}; if s.Kind==parts.Assembly&&s.Next>1{c["glued"]++}; if len(s.Nicks)>0{c["nicked"]++}; if s.ReplacedBy!=""{c["replaced"]++}}})
 var ks []string; for k:=range c{ks=append(ks,k)}; sort.Strings(ks); for _,k:=range ks{fmt.Println(k,c[k])}
}
