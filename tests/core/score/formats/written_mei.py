"""An invented piece of four measures for two hands, as an MEI file."""

from __future__ import annotations

PIECE = """\
<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0">
<meiHead><fileDesc><titleStmt><title>Invented</title><composer>Anna Nemo</composer></titleStmt>
<pubStmt/></fileDesc></meiHead>
<music><body><mdiv><score>
<scoreDef key.sig="1f" meter.count="2" meter.unit="4"><staffGrp><staffGrp symbol="brace">
<label>Piano</label>
<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/>
<staffDef n="2" lines="5"><clef shape="F" line="4"/></staffDef></staffGrp></staffGrp></scoreDef>
<section>
<measure n="0" metcon="false">
 <staff n="1"><layer n="1"><beam><note xml:id="a1" dur="8" pname="c" oct="4"/>
  <note dur="8" pname="e" oct="4"/></beam></layer></staff>
 <staff n="2"><layer n="1"><rest dur="4"/></layer></staff>
 <tempo staff="1" tstamp="1" mm="72" mm.unit="4">Andante <rend>\ue1d5</rend> = 72</tempo>
 <dynam staff="1" tstamp="1.5">p</dynam>
</measure>
<ending n="1">
<measure n="1" right="rptend">
 <staff n="1"><layer n="1"><note dur="8" dots="1" pname="d" oct="5" accid="s" artic="stacc ten"/>
  <note dur="16" pname="e" oct="5"/><note xml:id="f1" dur="4" pname="f" oct="5"/></layer></staff>
 <staff n="2"><layer n="1"><chord dur="4"><note pname="c" oct="3"/><note pname="e" oct="3"/></chord>
  <note dur="4" pname="f" oct="3"/></layer></staff>
 <tie startid="#f1" endid="#f2"/><slur startid="#a1" endid="#f1"/><fermata startid="#f1"/>
 <hairpin staff="2" form="dim" tstamp="1" tstamp2="1m+2"/>
</measure></ending>
<measure n="2">
 <staff n="1"><layer n="1"><note xml:id="f2" dur="4" pname="f" oct="5"/>
   <note grace="unacc" dur="8" pname="g" oct="4"/><note dur="4" pname="a" oct="4"/></layer>
  <layer n="2"><note dur="4" pname="d" oct="4"/>
   <choice><sic><note dur="4" pname="c" oct="4"/></sic>
    <corr><note dur="4" pname="b" oct="3" accid.ges="f"/></corr></choice></layer></staff>
 <staff n="2"><layer n="1"><mRest/></layer></staff>
</measure>
<scoreDef meter.sym="common"/>
<measure n="3" right="end">
 <staff n="1"><layer n="1"><note dur="1" pname="c" oct="5"/></layer></staff>
 <staff n="2"><layer n="1"><tuplet num="3" numbase="2"><note dur="2" pname="c" oct="3"/>
  <note dur="2" pname="d" oct="3"/><note dur="2" pname="e" oct="3"/></tuplet></layer></staff>
 <dir staff="1" tstamp="2">dolce</dir>
</measure>
</section></score></mdiv></body></music></mei>
"""
