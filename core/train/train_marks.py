"""Trains the network that finds marks on a face laid flat. Every few minutes it prints how it does.

FLATS holds what make_flats.py makes; SEEN_DIR, if there is one, grids of whole tuning pictures to try it on.

    python core/train/train_marks.py OUT.npz MINUTES [START.npz]     # in the folder with flats_*.npz
"""

import os
os.environ.setdefault("XLA_FLAGS", "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1")
import sys, time, json, glob, numpy as np, cv2, jax, jax.numpy as jnp, optax
cv2.setNumThreads(1)
C=int(__import__('os').environ.get('CH','16'))
DIL=[1,2,4,4,2,1]
def within(w,h,gx,gy):
    return ((np.abs(2*gx/w)**2.3+np.abs(2*gy/h)**2.3)**(1/2.3)).astype(np.float32)
gx=(np.arange(144)+.5-72)[None,:]; gy=(40-(np.arange(80)+.5))[:,None]
def prep(flat,size):
    W=within(size[0],size[1],gx,gy)
    lev=np.sort(flat[W<.97]); lev=lev[len(lev)*3//4]
    return flat-lev, W
def channels(d,W):
    return jnp.stack([jnp.clip(d,-2.5,1.0), jnp.clip(4*d,-1.5,1.0), jnp.clip(W,0,1.5)-1],-1)
def init(key):
    ks=jax.random.split(key,12); P={}
    def w(k,shape,fan): return jax.random.normal(k,shape)*np.sqrt(2/fan)
    P['a']=(w(ks[0],(3,3,3,8),27),jnp.zeros(8))
    P['b']=(w(ks[1],(4,4,8,C),128),jnp.zeros(C))
    for i,_ in enumerate(DIL): P[f'd{i}']=(w(ks[2+i],(3,3,C,C),9*C)*.5,jnp.zeros(C))
    P['h']=(w(ks[10],(1,1,C,4),C)*.1,jnp.array([-4.,0,0,0]))
    return P
def conv(x,p,s=1,d=1):
    return jax.lax.conv_general_dilated(x,p[0],(s,s),'SAME' if s==1 else ((1,1),(1,1)),rhs_dilation=(d,d),dimension_numbers=('NHWC','HWIO','NHWC'))+p[1]
def net(P,x):
    x=jax.nn.relu(conv(x,P['a'])); x=jax.nn.relu(conv(x,P['b'],2))
    for i,d in enumerate(DIL): x=x+jax.nn.relu(conv(x,P[f'd{i}'],1,d))
    return conv(x,P['h'])
# 2 mm cell (i,j): stride-2 conv with padding (0,1): cell covers input 2i..2i+2, centre of the cell 2i+1 mm from the edge
cx=(2*np.arange(72)+1.-72)[None,:]; cy=(40-(2*np.arange(40)+1.))[:,None]
def targets(marks,n):
    heat=np.zeros((40,72),np.float32); off=np.zeros((40,72,3),np.float32); near=np.zeros((40,72),np.float32); best=np.full((40,72),1e9)
    for m in marks[:n]:
        d2=(cx-m[0])**2+(cy-m[1])**2
        g=np.exp(-d2/(2*2.2**2)); 
        i=np.unravel_index(np.argmin(d2),d2.shape); g[i]=1
        heat=np.maximum(heat,g)
        c=(d2<best)&(d2<25); best=np.where(c,d2,best)
        o=np.stack([(m[0]-cx)+0*cy,(m[1]-cy)+0*cx,np.full_like(d2,(m[2]-11.5)/2)],-1)
        off=np.where(c[...,None],o/np.array([2,2,1]),off); near=np.where(c,np.exp(-d2/18),near)
    return heat,off.astype(np.float32),near.astype(np.float32)
def loss(P,x,heat,off,near):
    y=net(P,x); p=jax.nn.sigmoid(y[...,0]); lp=jax.nn.log_sigmoid(y[...,0]); ln=jax.nn.log_sigmoid(-y[...,0])
    pos=heat>=.999
    l=-jnp.sum(jnp.where(pos,(1-p)**2*lp,(1-heat)**4*p**2*ln))
    o=jnp.sum(near[...,None]*jnp.abs(y[...,1:]-off))
    return (l+.2*o)/x.shape[0]
def peaks(y,size,thr=.2):
    p=1/(1+np.exp(-y[...,0])); out=[]
    for _ in range(10):
        i=np.unravel_index(np.argmax(p),p.shape)
        if p[i]<thr: break
        x=cx[0,i[1]]+2*y[i][1]; yy=cy[i[0],0]+2*y[i][2]
        out.append((x,yy,11.5+2*y[i][3],p[i]))
        d2=(cx-cx[0,i[1]])**2+(cy-cy[i[0],0])**2; p=np.where(d2<6.5**2,0,p)
    return out
def real():
    X=[];T=[]
    for f in sorted(glob.glob('seen/*.f32')):
        b=open(f,'rb').read(); w,h=np.frombuffer(b[:8],np.uint32); a=np.frombuffer(b[8:],np.float32).reshape(h,w)
        a=a.reshape(h//2,2,w//2,2).mean((1,3)); t=json.load(open('seen/'+f.split('/')[-1][:-4]+'.json'))
        big=np.full((80,144),a.min(),np.float32); oy,ox=(80-a.shape[0])//2,(144-a.shape[1])//2
        y0,x0=max(0,-oy),max(0,-ox); a=a[y0:y0+80,x0:x0+144]; oy,ox=max(oy,0),max(ox,0)
        big[oy:oy+a.shape[0],ox:ox+a.shape[1]]=a
        d,W=prep(big,t['calliper_mm']); X.append((d,W)); T.append(t)
    return X,T
def evaluate(P,X,T,thr):
    f=jax.jit(net); tot={}
    for (d,W),t in zip(X,T):
        y=np.array(f(P,channels(jnp.array(d),jnp.array(W))[None]))[0]
        got=peaks(y,None,thr); used=set(); err=[]
        ok=0
        for m in t['marks']:
            c=[(np.hypot(g[0]-m['x_mm'],g[1]-m['y_mm']),k) for k,g in enumerate(got) if k not in used]
            if c and min(c)[0]<4: used.add(min(c)[1]); ok+=1; err.append(min(c)[0])
        a=tot.setdefault(t['kind'],[0,0,0,[],0,0]); a[0]+=ok; a[1]+=len(t['marks']); a[2]+=len(got)-len(used); a[3]+=err; a[4]+=1; a[5]+=(len(got)>len(used))
    return {k:f"found {a[0]}/{a[1]} false {a[2]} in {a[5]}/{a[4]} med {np.median(a[3]) if a[3] else 0:.2f}" for k,a in sorted(tot.items())}
def varied(flat,marks,n,size,rng):
    """Another face out of one: turned and stretched a little, with uneven light, grain of any size and rectangles that
    hide what is below (random erasing, Zhong and others 2017). Nothing of it is taken from the unseen pictures."""
    a=rng.normal(0,.06); k=np.exp(rng.normal(0,.03,2))
    A=np.array([[k[0]*np.cos(a),-k[0]*np.sin(a)],[k[1]*np.sin(a),k[1]*np.cos(a)]]); move=rng.normal(0,1.2,2)
    if rng.random()<.5: A[:,0]*=-1
    if rng.random()<.5: A[:,1]*=-1
    # face mm -> new mm; picture rows go down
    F=np.array([[1,0],[0,-1]]); M=F@A@F; mid=np.array([71.5,39.5])
    M=np.column_stack([M,mid+F@move-M@mid])
    x=cv2.warpAffine(flat.astype(np.float32),M.astype(np.float32),(144,80),flags=cv2.INTER_LINEAR,borderMode=cv2.BORDER_REPLICATE)
    m=marks.copy(); m[:n,:2]=m[:n,:2]@A.T+move; m[:n,2]*=np.sqrt(k[0]*k[1])
    if rng.random()<.6:
        g=rng.normal(0,rng.uniform(.02,.18),(int(rng.integers(3,9)),int(rng.integers(4,14)))).astype(np.float32)
        x+=cv2.resize(g,(144,80),interpolation=cv2.INTER_CUBIC)
    for _ in range(int(rng.integers(0,3))):
        g=cv2.GaussianBlur(rng.standard_normal((80,144)).astype(np.float32),(0,0),rng.uniform(.3,2.5))
        x+=g*np.float32(rng.exponential(.05)/g.std())
    if rng.random()<.5:
        for _ in range(int(rng.integers(1,4))):
            c=rng.uniform([10,8],[134,72]); b=np.exp(rng.uniform(np.log(1.5),np.log([30,9])))
            mask=np.zeros((80,144),np.float32)
            box=cv2.boxPoints((tuple(map(float,c)),tuple(map(float,b)),float(rng.uniform(0,180))))
            cv2.fillConvexPoly(mask,np.int32(box*16),1.0,cv2.LINE_AA,4)
            mask=cv2.GaussianBlur(mask,(0,0),rng.uniform(.3,1.2))
            x+=mask*np.float32(rng.choice([-1,-1,1])*rng.uniform(.08,.9))
    if rng.random()<.3: x=cv2.GaussianBlur(x,(0,0),rng.uniform(.3,1.0))
    return x,m,size*np.array(k)
if __name__=='__main__':
    out,minutes=sys.argv[1],float(sys.argv[2])
    files,F,Mk,Nn,Sz=set(),[],[],[],[]
    def more():
        """Faces that were made since; those that are held out stay so."""
        for f in sorted(set(glob.glob('flats_*.npz'))-files):
            files.add(f); z=np.load(f); F.extend(z['flat']); Mk.extend(z['marks']); Nn.extend(z['n']); Sz.extend(z['size'])
        return len(F)
    print('faces',more(),flush=True); held=np.arange(len(F))%20==0
    def batch(ix,change=True):
        got=[]
        for i in ix:
            x,m,size=(varied(F[i],Mk[i],Nn[i],Sz[i],rng) if change else (F[i].astype(np.float32),Mk[i],Sz[i]))
            d,W=prep(x,size); got.append((d,W,*targets(m,Nn[i])))
        return [np.stack(v).astype(np.float32) for v in zip(*got)]
    P=init(jax.random.PRNGKey(1))
    if len(sys.argv)>3:
        q=np.load(sys.argv[3]); P={k:(jnp.array(q[k+'w']),jnp.array(q[k+'b'])) for k in P}
    B=16
    t0=time.time(); rng=np.random.default_rng(0)
    top=3e-3 if len(sys.argv)<=3 else 2e-3
    lr=lambda frac: top*0.5*(1+np.cos(np.pi*min(frac,1)))+2e-5
    opt=optax.inject_hyperparams(optax.adamw)(learning_rate=3e-3,weight_decay=1e-4); S=opt.init(P); E=P
    @jax.jit
    def step(P,S,E,x,W,h,o,n,decay):
        l,g=jax.value_and_grad(loss)(P,channels(x,W),h,o,n); g=jax.tree.map(lambda v:jnp.clip(v,-1,1),g)
        u,S=opt.update(g,S,P); P=optax.apply_updates(P,u)
        return P,S,jax.tree.map(lambda a,b:decay*a+(1-decay)*b,E,P),l
    save=lambda: np.savez(out,**{k+s:np.array(v) for k,p in E.items() for s,v in zip('wb',p)})
    check=[jax.jit(lambda P,x,W,h,o,n: loss(P,channels(x,W),h,o,n)),batch(np.flatnonzero(held)[:200],False)]
    it=0; acc=[]; last=t0; open_=lambda: (n:=rng.integers(0,len(F),2*B))[n%20!=0][:B]
    while (frac:=(time.time()-t0)/(minutes*60))<1:
        S.hyperparams['learning_rate']=jnp.array(lr(frac)*min(1,(it+1)/200))
        x,w,h,o,n=batch(open_())
        P,S,E,l=step(P,S,E,x,w,h,o,n,jnp.array(min(.998,it/(it+10)))); acc.append(float(l)); it+=1
        if time.time()-last>120:
            last=time.time(); print(f'{(last-t0)/60:.1f} min it {it} loss {np.mean(acc):.3f} held {float(check[0](E,*check[1])):.3f}',flush=True); acc=[]; save(); more()
    save()
