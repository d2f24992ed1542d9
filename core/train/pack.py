"""Writes trained weights as core/src/face/photo/net.rs reads them: 16 bits each, one scale a layer.

    python core/train/pack.py WEIGHTS.npz core/src/face/photo/marks.net
"""

import sys, struct, numpy as np
DIL=[1,2,4,4,2,1]
q=np.load(sys.argv[1]); out=b''
def layer(w,b,stride,spread,then):
    k,_,i,o=w.shape; s=max(np.abs(w).max(),1e-9)/32767
    return bytes([k,stride,spread,i,o,then])+struct.pack('<f',s)+np.round(w/s).astype('<i2').tobytes()+b.astype('<f4').tobytes()
out+=layer(q['aw'],q['ab'],1,1,0)+layer(q['bw'],q['bb'],2,1,0)
for n,d in enumerate(DIL): out+=layer(q[f'd{n}w'],q[f'd{n}b'],1,d,1)
out+=layer(q['hw'],q['hb'],1,1,2)
open(sys.argv[2],'wb').write(out); print(len(out))
