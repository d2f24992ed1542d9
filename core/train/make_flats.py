"""Powdered faces laid flat, for training: the test renderer's coat and light, without its camera.

Only seeds for tuning (below 100,000). About 60 ms a face.

    python core/train/make_flats.py 20000 21000 OUT_DIR/flats_0.npz
"""

import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "tests/photo"))
import numpy as np, cv2, multiprocessing
cv2.setNumThreads(1)
import scenes
from coat import Sheet, paint, SPAN_X, SPAN_Y
from geometry import Camera, depth, outline
from light import Light, glare_on, _tone
from noise import srgb_to_linear, clouds
GX, GY = 144, 80   # mm
def one(seed):
    s = scenes.scene(seed)
    if s['kind']=='bad': return None
    rng = np.random.default_rng([seed, 11]); r2 = np.random.default_rng([seed, 99])
    w,h = s['face_mm']; b,rl = s['bulge_mm'], s['roll_mm']
    curve = outline(s['outline'], w, h, rng, s['wide'])
    c = s['camera']; foc = c['film_mm']/36*max(c['width'],c['height'])
    dist = c['distance_mm']
    fine = min(foc/dist, 8.0)
    cam = Camera(s['hand'], c['width'], c['height'], foc, (c['width']/2,c['height']/2), dist, c['tilt_deg'], c['towards_deg'], c['roll_deg'], (0,0), 0,0)
    sheet = Sheet(3); light = Light(s['light'])
    albedo, bare, mask, far = paint(s, curve, sheet, rng)
    facing, above, mirrored = light.on_face(sheet, cam, b, rl, rng)
    face = albedo*(facing[...,None]*light.direct + above[...,None]*light.around)
    face += (mirrored*np.minimum(facing*2,1)*(0.04+bare)*s['light']['face_gloss'])[...,None]*light.direct
    white = float(np.percentile(face.mean(-1)[mask>0.5], 85))
    for g in s['glare']:
        face += (glare_on(sheet,g,rng)*white)[...,None]*(light.direct+light.around)/(light.direct+light.around).mean()
    face *= (1-0.35*np.exp(-np.clip(far,0,9)/0.5))[...,None]
    # beyond the rim: head with powder dust, then ground
    up = (sheet.y > 0)
    tone = np.where(up[...,None], srgb_to_linear(s['head']['colour']), srgb_to_linear(s['head']['sole'])) * (light.direct*r2.uniform(.05,.8)+light.around*r2.uniform(.4,1))
    dust = np.where(up, s['head']['dust_up'], s['head']['dust_down'])*np.exp(-np.clip(-far,0,None)/r2.uniform(1,8))
    out = tone*(1-dust[...,None]) + srgb_to_linear(s['coat']['powder'])*dust[...,None]*(light.direct*.5+light.around)
    edge = r2.uniform(2,25)*np.where(up,1,r2.uniform(.2,1))
    ground = r2.uniform(0.02,.6)*white*np.clip(1+.3*sheet.clouds(4,r2,3),.1,2)[...,None]*np.ones(3)
    gm = np.clip((-far-edge)/0.7,0,1)[...,None]
    out = out*(1-gm)+ground*gm
    img = face*mask[...,None] + out*(1-mask[...,None])
    lens = s['lens']; fineness = max(c['width'],c['height'])/1600
    sig = (lens['blur_px']*0.6+lens['motion_px']*0.25+0.5)/fine*3
    img = cv2.GaussianBlur(img.astype(np.float32),(0,0),max(sig,.4))
    img = img + lens['veil']*white
    x = sheet.x/80; img = img*(1+r2.normal(0,.05)*x+r2.normal(0,.03)*sheet.y/40)[...,None]
    img *= np.array(lens['balance'],np.float32)
    aim = .5*white+.5*max(white, white*r2.uniform(.8,1.3))
    img *= lens['exposure']/aim*2**min(lens['ev'],.25)/np.mean(lens['balance'])
    # noise: sensor pixels averaged into a 1/3 mm cell
    n = np.sqrt(np.maximum(img,0)*lens['shot']+lens['read']**2)*min(1,3/fine)
    img = img + n*rng.standard_normal(img.shape).astype(np.float32)
    coded = _tone(lens)[np.clip(img*(8192),0,16383).astype(int)]
    y = coded@np.array([.299,.587,.114],np.float32)
    y = np.clip(y,0,1); lin = np.where(y<=.04045,y/12.92,((y+.055)/1.055)**2.4)
    L = np.log(lin+.004).astype(np.float32)
    # calliper rounding and careless handles: a small affine about the face's centre
    k = round(w*2)/2/w; kh = round(h*2)/2/h
    rot = r2.normal(0,.01); sh = r2.normal(0,.4,2)
    A = np.array([[k*np.cos(rot), -np.sin(rot)],[np.sin(rot), kh*np.cos(rot)]])
    # flat(i,j) at 1 mm -> source
    M = np.linalg.inv(A)
    gx = np.arange(GX)+.5-GX/2; gy = GY/2-(np.arange(GY)+.5)
    X,Y = np.meshgrid(gx,gy); P = np.stack([X,Y],-1)-sh; S = P@M.T
    L = cv2.blur(L,(3,3))
    q = sheet.pixels(S).astype(np.float32)
    flat = cv2.remap(L,q,None,cv2.INTER_LINEAR,borderMode=cv2.BORDER_REPLICATE)
    marks = np.array([[*(A@np.array([m['x'],m['y']])+sh), m['diameter']/2, m['contrast']] for m in s['marks']] or np.zeros((0,4)),np.float32)
    m8 = np.zeros((6,4),np.float32); m8[:len(marks)] = marks[:6]
    return flat.astype(np.float16), m8, len(marks), np.array([round(w*2)/2,round(h*2)/2],np.float32)
if __name__=='__main__':
    a,b,out = int(sys.argv[1]),int(sys.argv[2]),sys.argv[3]
    with multiprocessing.Pool(1) as p: got=[g for g in p.imap(one, range(a,b), chunksize=16) if g]
    np.savez(out + '.part.npz', flat=np.stack([g[0] for g in got]), marks=np.stack([g[1] for g in got]), n=np.array([g[2] for g in got]), size=np.stack([g[3] for g in got]))
    pathlib.Path(out + '.part.npz').rename(out); print(len(got))
