# One empty glyph for U+202F, a fifth of an em wide: TrueType written by hand from the OpenType specification.
import pathlib
import struct
UPM=1000; ADV=200
def cmap():
    # format 4, segments: 0x202F, 0xFFFF
    end=[0x202F,0xFFFF]; start=[0x202F,0xFFFF]; delta=[(1-0x202F)&0xFFFF,1]; rng=[0,0]
    n=2
    sub=struct.pack('>HHHHHHH',4,16+8*n,0,2*n,4,1,0)
    sub+=b''.join(struct.pack('>H',x) for x in end)+b'\0\0'
    for a in (start,delta,rng): sub+=b''.join(struct.pack('>H',x) for x in a)
    return struct.pack('>HHHHI',0,1,3,1,12)+sub
head=lambda adj=0: struct.pack('>IIIIHHqqhhhhHHhhh',0x10000,0x10000,adj,0x5F0F3CF5,3,UPM,3600000000,3600000000,0,0,0,0,0,8,2,0,0)
hhea=struct.pack('>IhhhHhhhhhhhhhhhH',0x10000,800,-200,0,ADV,0,0,0,1,0,0,0,0,0,0,0,2)
hmtx=struct.pack('>HhHh',ADV,0,ADV,0)
maxp=struct.pack('>IHHHHHHHHHHHHHH',0x10000,2,0,0,0,0,1,0,0,0,0,0,0,0,0)
loca=struct.pack('>HHH',0,0,0)
glyf=b'\0'
post=struct.pack('>IIhhIIIII',0x30000,0,0,0,0,0,0,0,0)
names={1:'Throughline Space',2:'Regular',3:'Throughline Space Regular',4:'Throughline Space Regular',6:'ThroughlineSpace-Regular'}
rec=b'';st=b''
for k,v in names.items():
    e=v.encode('utf-16-be'); rec+=struct.pack('>HHHHHH',3,1,0x409,k,len(e),len(st)); st+=e
name=struct.pack('>HHH',0,len(names),6+12*len(names))+rec+st
os2=struct.pack('>HhHHHhhhhhhhhhhh10sIIII4sHHHhhhHHII',3,ADV,400,5,0,0,0,0,0,0,0,0,0,0,0,0,b'\0'*10,0,0,0,0,b'NONE',0x40,0x202F,0x202F,800,-200,0,800,200,0,0)
os2+=struct.pack('>hhHHH',500,700,0,0x20,1)
T={'OS/2':os2,'cmap':cmap(),'glyf':glyf,'head':head(),'hhea':hhea,'hmtx':hmtx,'loca':loca,'maxp':maxp,'name':name,'post':post}
def build(T):
    n=len(T); off=12+16*n; d=b'';recs=b''
    for tag in sorted(T):
        data=T[tag]; pad=data+b'\0'*(-len(data)%4)
        cs=sum(struct.unpack('>%dI'%(len(pad)//4),pad))&0xFFFFFFFF
        recs+=struct.pack('>4sIII',tag.encode(),cs,off+len(d),len(data)); d+=pad
    es=n.bit_length()-1; sr=16*(1<<es)
    return struct.pack('>IHHHH',0x10000,n,sr,es,16*n-sr)+recs+d
f=build(T); pad=f+b'\0'*(-len(f)%4)
adj=(0xB1B0AFBA-sum(struct.unpack('>%dI'%(len(pad)//4),pad)))&0xFFFFFFFF
T['head']=head(adj); f=build(T)
open(pathlib.Path(__file__).parent.parent / 'wwwroot' / 'thin-space.ttf', 'wb').write(f)

